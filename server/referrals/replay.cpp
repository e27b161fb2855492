#include "server/referrals/replay.hpp"

#include <algorithm>
#include <map>

#include "server/json/difference.hpp"
#include "server/json/kept_answer.hpp"
#include "server/json/referral_body.hpp"
#include "server/json/road_conditions.hpp"
#include "server/referrals/desk.hpp"
#include "server/referrals/plan_way.hpp"
#include "server/referrals/recorded_district.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

constexpr std::size_t most_differences = 100;

bool recommends(const journal::Envelope& envelope) {
    return envelope.kind == kind_of(referral::EventKind::opened) ||
           envelope.kind == kind_of(referral::EventKind::diverted);
}

/// An entry with what it says, and the question that was asked.
struct Past {
    const journal::Envelope& envelope;
    StoredBody body;
    std::optional<KeptAnswer> kept;
    RecommendationRequest request;
    Instant at{};
    Basis basis;
};

/// Of an entry of an earlier program: what can be worked out from the plan and the events.
void fill_from_plan(Past& past, const journal::Journal& journal, const std::string& code) {
    if (past.body.opening) {
        past.request = past.body.opening->request;
    } else {
        const auto before = read_record(journal, code, past.envelope.sequence - 1);
        const auto& position = past.body.told->position;
        past.request = Desk::onward_request(
            *before, position ? std::optional<Place>(*position) : std::nullopt);
    }
    if (past.body.way) {
        past.at = past.body.way->planned_at;
        past.basis.files = {{"map", past.body.way->made_from.map_sha256},
                            {"protocol", past.body.way->made_from.protocol_sha256}};
        past.basis.known = past.body.way->made_from.sequence;
    }
}

Past past_of(const journal::Envelope& envelope, const journal::Journal& journal,
             const std::string& code) {
    try {
        Past past{envelope,
                  parse_stored_body(*envelope.body),
                  parse_kept_answer(*envelope.body),
                  {},
                  envelope.at,
                  {}};
        if (past.kept) {
            past.request = past.kept->request;
            past.at = past.kept->at;
            past.basis = past.kept->basis;
        } else {
            fill_from_plan(past, journal, code);
        }
        return past;
    } catch (const InputError& error) {
        throw DataError("envelope " + std::to_string(envelope.sequence) +
                        " of the journal cannot be read: " + error.what());
    }
}

/// Files that were written down and are others now, or the program.
void compare_sources(const Basis& then, const Basis& now, std::vector<ChangedSource>& changed) {
    for (const auto& [what, sha256] : then.files) {
        const auto found = now.files.find(what);
        const std::string current = found == now.files.end() ? "" : found->second;
        if (current != sha256) {
            changed.push_back({what, sha256, current});
        }
    }
    for (const auto& [what, sha256] : now.files) {
        // An entry of an earlier program names the map and the protocol only.
        if (!then.version.empty() && then.files.count(what) == 0) {
            changed.push_back({what, "", sha256});
        }
    }
    if (!then.version.empty() && then.version != now.version) {
        changed.push_back({"program", then.version, now.version});
    }
}

std::string words_of(const facilities::Report& report) {
    return report.facility.value() + " " + to_name(report.about) +
           (report.is_ready ? " ready" : " not ready") + ", said at " + to_rfc3339(report.at);
}

std::string words_of(const routing::RoadChange& change) {
    return change.id + (change.slower_by ? " slower" : " closed") +
           (change.reason.empty() ? "" : ": " + change.reason);
}

/// What stands in one list and not in the other, by what it is about.
template <typename Key, typename Item>
void compare_items(const std::map<Key, Item>& then, const std::map<Key, Item>& now,
                   const char* what, std::vector<ChangedSource>& changed) {
    for (const auto& [key, item] : then) {
        const auto other = now.find(key);
        if (other == now.end() || !(other->second == item)) {
            changed.push_back(
                {what, words_of(item), other == now.end() ? "" : words_of(other->second)});
        }
    }
    for (const auto& [key, item] : now) {
        if (then.find(key) == then.end()) {
            changed.push_back({what, "", words_of(item)});
        }
    }
}

auto reports_of(const Snapshot& snapshot) {
    std::map<std::pair<FacilityId, std::string>, facilities::Report> all;
    for (const facilities::Report& report : snapshot.facilities.reports()) {
        all.emplace(std::pair{report.facility, to_name(report.about)}, report);
    }
    return all;
}

auto changes_of(const Snapshot& snapshot) {
    std::map<std::string, routing::RoadChange> all;
    for (const routing::RoadChange& change : snapshot.roads->changes()) {
        all.emplace(change.id, change);
    }
    return all;
}

/// Today's knowledge at a moment of the past: what was said later counts as said then.
std::shared_ptr<const Snapshot> known_early(const Snapshot& then, const Snapshot& today,
                                            Instant at) {
    auto next = std::make_shared<Snapshot>(then);
    for (facilities::Report report : today.facilities.reports()) {
        report.at = std::min(report.at, at);
        report.since = report.since ? std::optional(std::min(*report.since, at)) : std::nullopt;
        try {
            next->facilities = next->facilities.with(report);
        } catch (const InputError&) {
            continue;  // it speaks of a time that has not come
        }
    }
    next->report_count = next->facilities.report_count();
    auto changes = today.roads->changes();
    for (routing::RoadChange& change : changes) {
        if (change.period.from && *change.period.from <= today.made_at) {
            change.period.from.reset();
        }
    }
    next->roads = then.roads->with_changes(std::move(changes), at);
    return next;
}

void compare(const Past& past, const Snapshot& snapshot, Replayed& replayed) {
    const Answer answer =
        answer_recommendation(snapshot, past.request, past.at, snapshot.catalogue);
    std::vector<Difference> differences;
    // the plan first: where much differs, it is what is listed
    if (past.body.way) {
        JsonWriter then;
        write_way(then, *past.body.way);
        PlannedWay way = plan_way(snapshot, past.request, answer, past.body.way->to, past.at);
        way.made_from = past.body.way->made_from;
        JsonWriter now;
        write_way(now, way);
        add_differences(parse_json(then.take()), parse_json(now.take()), "/plan", differences);
    }
    const std::size_t before = differences.size();
    if (past.kept) {
        const KeptAnswer again = keep_answer(snapshot, past.request, answer, past.at);
        add_differences(parse_json(past.kept->answer), parse_json(again.answer), "/answer",
                        differences);
        if (differences.size() == before && again.sha256 != past.kept->sha256) {
            differences.push_back({"/answer",
                                   R"("the same but for lines, roads, note or questions")",
                                   R"("others")"});
        }
    }
    if (differences.size() > most_differences) {
        replayed.more_differences = differences.size() - most_differences;
        differences.resize(most_differences);
    }
    replayed.differences = std::move(differences);
}

Replayed replay_one(const Past& past, const journal::Journal& journal, const Snapshot& base,
                    const Snapshot& today, Knowledge knowledge) {
    Replayed replayed;
    replayed.sequence = past.envelope.sequence;
    replayed.step = wire_name(past.body.told->event.kind);
    replayed.at = past.at;
    replayed.keeps_the_answer = past.kept.has_value();
    compare_sources(past.basis, basis_of(base), replayed.changed);
    const KnownThen known = known_then(base, journal, past.basis, past.at);
    for (const journal::Sequence erased : known.erased) {
        replayed.changed.push_back({"erased_entry", std::to_string(erased), ""});
    }
    for (const std::string& id : known.lost_changes) {
        replayed.changed.push_back({"lost_road_change", id, ""});
    }
    auto snapshot = known.snapshot;
    if (knowledge == Knowledge::of_today) {
        snapshot = known_early(*known.snapshot, today, past.at);
        compare_items(reports_of(*known.snapshot), reports_of(today), "report", replayed.changed);
        compare_items(changes_of(*known.snapshot), changes_of(today), "road_change",
                      replayed.changed);
    }
    try {
        compare(past, *snapshot, replayed);
    } catch (const InputError& error) {
        replayed.failure = error.what();
    } catch (const NotFound& error) {
        replayed.failure = error.what();
    }
    return replayed;
}

std::vector<journal::Envelope> recommendations_of(const journal::Journal& journal,
                                                  const std::string& code) {
    constexpr std::size_t page = 200;
    std::vector<journal::Envelope> found;
    journal::Sequence seen = 0;
    for (auto some = journal.read_subject(subject_of(code), seen, page); !some.empty();
         some = journal.read_subject(subject_of(code), seen, page)) {
        seen = some.back().sequence;
        std::copy_if(some.begin(), some.end(), std::back_inserter(found), recommends);
    }
    return found;
}

}  // namespace

bool Replayed::program_changed_its_mind() const {
    return !is_identical() &&
           std::all_of(changed.begin(), changed.end(),
                       [](const ChangedSource& source) { return source.what == "program"; });
}

std::vector<Replayed> replay(const journal::Journal& journal, const Snapshot& base,
                             const Snapshot& today, const ReplayQuestion& question) {
    const auto envelopes = recommendations_of(journal, question.code);
    if (envelopes.empty()) {
        throw NotFound("there is no referral " + question.code);
    }
    std::vector<Replayed> all;
    for (const journal::Envelope& envelope : envelopes) {
        if (question.sequence && envelope.sequence != *question.sequence) {
            continue;
        }
        if (envelope.is_redacted()) {
            throw Conflict("referral " + question.code +
                           " has been redacted: what it was recommended on is no longer kept");
        }
        all.push_back(replay_one(past_of(envelope, journal, question.code), journal, base, today,
                                 question.knowledge));
    }
    if (all.empty()) {
        throw NotFound("entry " + std::to_string(*question.sequence) +
                       " of the journal is no recommendation of referral " + question.code);
    }
    return all;
}

}  // namespace waybourne::server
