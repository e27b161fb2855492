#include "server/cli/dispatch.hpp"

#include <ostream>

#include "referral/text_message.hpp"
#include "server/json/cover.hpp"
#include "server/json/transport_plan.hpp"

namespace waybourne::server {

namespace {

std::string names_of(const std::vector<VehicleId>& ids, const Words& words) {
    std::string names;
    for (const VehicleId& id : ids) {
        names += (names.empty() ? "" : ", ") + id.value();
    }
    return names.empty() ? words.text(Message{"server.dispatch.own_transport"}) : names;
}

/// When both are there.
Message message_of(const dispatch::Meeting& meeting) {
    const referral::Expected both = meeting.both_arrive();
    const std::string at =
        meeting.landing.empty() ? referral::in_words({meeting.point, {}}) : meeting.landing;
    return {
        "server.dispatch.meets",
        {{"place", at}, {"typical", to_rfc3339(both.typical)}, {"allow", to_rfc3339(both.allow)}}};
}

void print_way(const dispatch::Way& way, const Snapshot& snapshot, const Words& words,
               std::ostream& out) {
    if (!way.is_possible()) {
        out << "  "
            << words.text(Message{"server.dispatch.not_possible",
                                  {{"vehicles", names_of(way.vehicles, words)}}})
            << '\n';
    } else {
        const referral::Stage& last = way.recommendation.chosen->stages.back();
        out << "  "
            << words.text(Message{"server.dispatch.way",
                                  {{"vehicles", names_of(way.vehicles, words)},
                                   {"place", snapshot.facilities.facility(last.facility).name},
                                   {"leaves", to_rfc3339(way.leaves.typical)},
                                   {"typical", to_rfc3339(way.care_begins.typical)},
                                   {"allow", to_rfc3339(way.care_begins.allow)}}})
            << '\n';
    }
    if (way.is_possible() && way.meeting) {
        out << "      " << words.text(message_of(*way.meeting)) << '\n';
    }
    for (const auto* messages : {&way.remarks, &way.against}) {
        for (const std::string& text : words.texts(*messages)) {
            out << "      " << text << '\n';
        }
    }
}

void print(const TransportPlanAnswer& answer, const Snapshot& snapshot, const Words& words,
           std::ostream& out) {
    for (const dispatch::Carried& carried : answer.plan.carried) {
        out << carried.referral.value() << '\n';
        print_way(carried.way, snapshot, words, out);
        if (carried.rides_with) {
            out << "      "
                << words.text(Message{"server.dispatch.rides_with",
                                      {{"referral", carried.rides_with->value()}}})
                << '\n';
        }
    }
    for (const dispatch::ChangedPromise& changed : answer.plan.changed) {
        out << words.text(Message{
                   "server.dispatch.changed",
                   {{"referral", changed.referral.value()}, {"was", names_of(changed.was, words)}}})
            << ' ' << words.text(changed.why) << '\n';
    }
    if (answer.ways.size() > 1) {
        out << words.text(Message{"server.dispatch.other_ways"}) << '\n';
    }
    for (std::size_t index = 1; index < answer.ways.size(); ++index) {
        print_way(answer.ways[index], snapshot, words, out);
    }
}

void print_cover(const TransportPlanAnswer& answer, const Snapshot& snapshot, const Words& words,
                 std::ostream& out) {
    const CoverAnswer& cover = *answer.cover;
    const CoverWords told = cover_words(cover, words);
    out << words.text(Message{"server.dispatch.cover"}) << '\n';
    for (const auto* texts : {&told.words, &told.warnings}) {
        for (const std::string& text : *texts) {
            out << "  " << text << '\n';
        }
    }
    const auto print_all = [&](const auto& all, const auto& message) {
        for (const auto& one : all) {
            out << "  " << words.text(message(one)) << '\n';
        }
    };
    const auto advice = [&](const auto& one) {
        return message_of(one, cover, snapshot, answer.vehicles);
    };
    print_all(cover.waits, advice);
    print_all(cover.move_ups, advice);
    print_all(cover.lasts, [&](const auto& one) { return message_of(one, answer.vehicles); });
}

}  // namespace

int run_dispatch(const DispatchOptions& options, Terminal& terminal) {
    const TransportPlanRequest request =
        parse_transport_plan_request(text_of(options.file, terminal));
    const Instant now = moment_of(options.common);
    const auto snapshot = snapshot_of(options.common, now);
    const TransportPlanAnswer answer = answer_transport_plan(*snapshot, request, now);
    const Words words{snapshot->catalogue, snapshot->zone, now};
    if (options.common.json) {
        JsonWriter json{2};
        write_transport_plan(json, answer, *snapshot, words);
        terminal.out << json.take() << '\n';
        return 0;
    }
    print(answer, *snapshot, words, terminal.out);
    if (answer.cover) {
        print_cover(answer, *snapshot, words, terminal.out);
    }
    return 0;
}

}  // namespace waybourne::server
