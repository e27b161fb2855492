#include "server/referrals/recorded_district.hpp"

#include <algorithm>

#include "server/load_district.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// What the journal says of the district up to and with `last`.
Recorded recorded_until(const journal::Journal& journal, journal::Sequence last,
                        std::vector<journal::Sequence>& erased) {
    constexpr std::size_t page = 1000;
    Recorded recorded;
    journal::Sequence seen = 0;
    while (seen < last) {
        const auto envelopes = journal.read(seen, page);
        if (envelopes.empty()) {
            break;
        }
        for (const journal::Envelope& envelope : envelopes) {
            seen = envelope.sequence;
            if (seen > last || !tells_of_the_district(envelope)) {
                continue;
            }
            if (envelope.is_redacted()) {
                erased.push_back(seen);
            } else {
                apply_to_district(recorded, envelope);
            }
        }
    }
    return recorded;
}

const routing::RoadChange* change_of(const Snapshot& base, const Recorded& recorded,
                                     const std::string& id) {
    const auto notice = recorded.notices.find(id);
    if (notice != recorded.notices.end()) {
        return &notice->second.change;
    }
    const auto& changes = base.roads->changes();
    const auto found = std::find_if(changes.begin(), changes.end(),
                                    [&](const auto& change) { return change.id == id; });
    return found == changes.end() ? nullptr : &*found;
}

/// The changes with the ids that were written down, in that order.
std::vector<routing::RoadChange> changes_then(const Snapshot& base, const Recorded& recorded,
                                              const std::vector<std::string>& ids,
                                              std::vector<std::string>& lost) {
    std::vector<routing::RoadChange> changes;
    for (const std::string& id : ids) {
        if (const routing::RoadChange* change = change_of(base, recorded, id)) {
            changes.push_back(*change);
        } else {
            lost.push_back(id);
        }
    }
    return changes;
}

}  // namespace

facilities::FacilityRegister with_reports(facilities::FacilityRegister facilities,
                                          const Recorded& recorded) {
    for (const auto& [about, report] : recorded.reports) {
        try {
            facilities = facilities.with(report);
        } catch (const NotFound&) {
            continue;
        } catch (const InputError&) {
            continue;
        }
    }
    return facilities;
}

std::vector<routing::RoadChange> road_changes_of(const Snapshot& base, const Recorded& recorded,
                                                 Instant now) {
    std::vector<routing::RoadChange> changes;
    for (const routing::RoadChange& change : base.roads->changes()) {
        if (recorded.lifted.count(change.id) == 0) {
            changes.push_back(change);
        }
    }
    for (const auto& [id, notice] : recorded.notices) {
        if (!notice.change.period.until || *notice.change.period.until > now) {
            changes.push_back(notice.change);
        }
    }
    return changes;
}

KnownThen known_then(const Snapshot& base, const journal::Journal& journal, const Basis& basis,
                     Instant at) {
    KnownThen known;
    const Recorded recorded = recorded_until(journal, basis.known, known.erased);
    auto next = std::make_shared<Snapshot>(base);
    const bool is_moved =
        base.district.times_move_with_the_clock && basis.read_at && *basis.read_at != base.read_at;
    next->facilities = with_reports(
        is_moved ? load_register(base.folder, *basis.read_at) : base.facilities, recorded);
    next->report_count = next->facilities.report_count();
    const auto changes = basis.road_changes
                             ? changes_then(base, recorded, *basis.road_changes, known.lost_changes)
                             : road_changes_of(base, recorded, at);
    if (!changes.empty() || !base.roads->changes().empty()) {
        next->roads = base.roads->with_changes(changes, at);
    }
    next->known = basis.known;
    known.snapshot = std::move(next);
    return known;
}

}  // namespace waybourne::server
