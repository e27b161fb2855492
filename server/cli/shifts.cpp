#include "server/cli/shifts.hpp"

#include <algorithm>
#include <ostream>

#include "journal/open_journal.hpp"
#include "server/json/shift_handover.hpp"
#include "server/json/vehicle.hpp"
#include "server/referrals/recorded.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// The newest first.
using Handovers = std::vector<ShiftHandover>;

Handovers handovers_in(const journal::Journal& journal) {
    Handovers all;
    for (const auto& [id, handover] : journal::load(journal, recorded_fold()).state.handovers) {
        all.push_back(handover);
    }
    std::reverse(all.begin(), all.end());
    return all;
}

std::string signatures(const ShiftHandover& handover, const Words& words) {
    const std::string left = words.text(Message{
        "server.shift.left", {{"by", handover.left_by}, {"at", to_rfc3339(handover.left_at)}}});
    return left + ' ' +
           words.text(handover.taken_at ? Message{"server.shift.taken",
                                                  {{"by", *handover.taken_by},
                                                   {"at", to_rfc3339(*handover.taken_at)}}}
                                        : Message{"server.shift.not_taken"});
}

void print(const ShiftList::Woman& woman, const Words& words, std::ostream& out) {
    const auto line = [&](const char* id, const std::optional<Instant>& at) {
        if (at) {
            out << "    " << words.text(Message{id, {{"at", to_rfc3339(*at)}}}) << '\n';
        }
    };
    out << "  " << woman.code << "  "
        << words.text(Message{"referral.state." + std::string(wire_name(woman.state))}) << '\n';
    line("server.shift.deadline", woman.deadline);
    for (const ShiftList::Need& need : woman.needs) {
        out << "    " << words.capabilities(need.any_of) << '\n';
    }
    std::string vehicles;
    for (const VehicleId& vehicle : woman.vehicles) {
        vehicles += (vehicles.empty() ? "" : ", ") + vehicle.value();
    }
    if (!vehicles.empty()) {
        out << "    " << words.text(Message{"server.shift.promised", {{"vehicles", vehicles}}})
            << '\n';
    }
    line("server.shift.with_her_by", woman.with_her_by);
    line("server.shift.expected_by", woman.expected_by);
    for (const ShiftList::Alert& alert : woman.alerts) {
        out << "    " << words.text(message_of(alert.what, alert.due)) << '\n';
    }
}

void print(const ShiftList& list, const Words& words, std::ostream& out) {
    out << words.text(Message{"server.shift.open", {{"count", std::to_string(list.women.size())}}})
        << '\n';
    for (const ShiftList::Woman& woman : list.women) {
        print(woman, words, out);
    }
    out << words.text(Message{"server.shift.vehicles"}) << '\n';
    for (const ShiftList::VehicleLine& line : list.vehicles) {
        out << "  " << line.name << ": " << state_name(line.hold)
            << (line.code ? "  " + *line.code : "") << '\n';
    }
}

int tell_all(const Handovers& handovers, bool as_json, const Words& words, std::ostream& out) {
    if (as_json) {
        JsonWriter json{2};
        json.begin_object().key("handovers").begin_list();
        for (const ShiftHandover& handover : handovers) {
            json.begin_object();
            write_handover_members(json, handover);
            json.end_object();
        }
        out << json.end_list().end_object().take() << '\n';
        return 0;
    }
    if (handovers.empty()) {
        out << words.text(Message{"server.shift.none"}) << '\n';
    }
    for (const ShiftHandover& handover : handovers) {
        out << handover.id << "  " << signatures(handover, words) << '\n';
    }
    return 0;
}

}  // namespace

int run_shifts(const ShiftsOptions& options, Terminal& terminal) {
    const Instant now = moment_of(options.common);
    const auto snapshot = snapshot_of(options.common, now);
    const Words words{snapshot->catalogue, snapshot->zone, now};
    const auto journal = journal::open_journal(options.journal, journal::Access::read);
    const Handovers handovers = handovers_in(*journal);
    if (options.id.empty()) {
        return tell_all(handovers, options.common.json, words, terminal.out);
    }
    const auto found = std::find_if(handovers.begin(), handovers.end(),
                                    [&](const ShiftHandover& one) { return one.id == options.id; });
    if (found == handovers.end()) {
        throw NotFound("there is no shift handover '" + options.id + "'");
    }
    const auto made = signed_list(*journal, options.id);
    if (options.common.json) {
        JsonWriter json{2};
        json.begin_object();
        write_handover_members(json, *found);
        json.member("sha256", made ? std::optional(made->sha256) : std::nullopt).key("list");
        if (made) {
            write_shift_list(json, made->list, words);
        } else {
            json.null();
        }
        terminal.out << json.end_object().take() << '\n';
        return 0;
    }
    terminal.out << signatures(*found, words) << '\n';
    if (made) {
        print(made->list, words, terminal.out);
    } else {
        terminal.out << words.text(Message{"server.shift.erased"}) << '\n';
    }
    return 0;
}

}  // namespace waybourne::server
