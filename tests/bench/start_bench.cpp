#include <cstdint>
#include <iostream>
#include <stdexcept>
#include <string>
#include <vector>

#include "journal/sqlite_journal.hpp"
#include "referral/event.hpp"
#include "referral/referral_code.hpp"
#include "server/json/referral_body.hpp"
#include "server/referrals/recorded.hpp"
#include "tests/bench/figure.hpp"
#include "tests/bench/served.hpp"

// How long `waybourne serve` takes from its start to its first answer on the journal of a district
// that has run for years: a million events, settled cases of fourteen steps each (from memory of
// nothing outside: the thirteen moments of docs/referral-life.md and the one that assigns the
// vehicle), and twenty open ones. The last fold snapshot is as old as it can be while a server
// runs, 10,000 events.

namespace {

using namespace waybourne;
using namespace waybourne::bench;
using referral::EventKind;

constexpr std::size_t after_snapshot = 10'000;
constexpr std::size_t open_cases = 20;
constexpr Instant noon{Seconds{1'772'625'600}};

const std::string opening = R"({"request": {"readings": [{"taken_at": "2026-03-04T11:35:00Z",
  "systolic_mmhg": 165, "diastolic_mmhg": 112, "pulse_per_minute": 96}],
  "findings": {"status": "pregnant", "gestation_weeks": 34, "severe_headache": "yes"},
  "from": {"facility": "kezhiru-clinic"}}, "sender": "kezhiru-clinic", "to": "sorvrith-hospital"})";

const std::vector<EventKind> life{
    EventKind::opened,           EventKind::informed,        EventKind::accepted,
    EventKind::vehicle_assigned, EventKind::transport_sent,  EventKind::with_the_woman,
    EventKind::departed,         EventKind::arrived,         EventKind::received,
    EventKind::care_begun,       EventKind::alert_raised,    EventKind::alert_acknowledged,
    EventKind::closed,           EventKind::outcome_returned};

journal::Entry step_of(std::size_t referral, std::size_t step) {
    const std::string code = referral::to_referral_code(referral);
    server::StoredBody body;
    server::ToldEvent told;
    told.event.id = referral::EventId{"e" + std::to_string(step + 100)};
    told.event.kind = life[step];
    told.event.occurred_at = noon + Seconds{static_cast<std::int64_t>(600 * step)};
    told.event.recorded_at = told.event.occurred_at;
    told.event.by = {referral::Role::dispatcher, FacilityId{"kezhiru-clinic"}};
    switch (life[step]) {
        case EventKind::opened:
            told.event.place = FacilityId{"sorvrith-hospital"};
            body.given = std::make_shared<const std::string>(opening);
            break;
        case EventKind::vehicle_assigned:
            told.event.vehicle = VehicleId{"vehicle-3"};
            break;
        case EventKind::alert_raised:
        case EventKind::alert_acknowledged:
            told.event.alert = "close";
            break;
        case EventKind::closed:
            told.event.persons = {{referral::Person{}, referral::PersonOutcome::alive_well}};
            break;
        default:
            break;
    }
    body.told = std::move(told);
    return {server::kind_of(life[step]), server::subject_of(code), server::to_stored(body)};
}

/// Fills the journal; the snapshot is taken when `after_snapshot` events are still to come.
void fill(const std::string& file, std::size_t events) {
    constexpr std::size_t together = 1'000;
    const auto journal = journal::open_sqlite_journal(file);
    journal::Append some{noon, "desk", "", {}};
    std::size_t stored = 0;
    const auto flush = [&] {
        if (!some.entries.empty()) {
            journal->append(some);
            stored += some.entries.size();
            some.entries.clear();
        }
    };
    bool is_saved = false;
    for (std::size_t i = 0; i < events; ++i) {
        const std::size_t referral = i / life.size();
        const bool stays_open = events - i <= open_cases * life.size();
        const std::size_t step = i % life.size();
        some.entries.push_back(stays_open ? step_of(referral * life.size() + step + 1'000'000, 0)
                                          : step_of(referral, step));
        if (some.entries.size() == together) {
            flush();
        }
        if (!is_saved && i + after_snapshot >= events) {
            flush();
            is_saved = journal::save(*journal, server::recorded_fold(),
                                     journal::load(*journal, server::recorded_fold()));
        }
    }
    flush();
}

void measure(std::size_t events) {
    constexpr int runs = 3;
    const JournalFolder folder;
    fill(folder.file(), events);
    const double took = median_seconds(runs, [&] { const Served served{folder.file()}; });
    const JournalFolder empty;
    const double bare = median_seconds(runs, [&] { const Served served{empty.file()}; });
    const std::string network = "sample, " + std::to_string(events) + " events";
    print({"server_start", "waybourne serve from its start to serving, and stopped again", took,
           "s", "", "< 3", network});
    print({"server_start", "the same on an empty journal", bare, "s", "", "", "sample"});
}

}  // namespace

int main(int argc, char** argv) {
    const Arguments arguments = parse_arguments(argc, argv);
    if (!arguments.wants("server_start")) {
        return 0;
    }
    constexpr std::size_t promised = 1'000'000;
    try {
        measure(arguments.size == Arguments{}.size ? promised : arguments.size);
    } catch (const std::exception& error) {
        std::cerr << "start_bench: " << error.what() << '\n';
        return 1;
    }
    return 0;
}
