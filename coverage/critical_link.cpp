#include "coverage/critical_link.hpp"

#include <algorithm>
#include <array>

namespace waybourne::coverage {

namespace {

/// Progress is told this often.
constexpr std::uint32_t told_every = 1024;

double minutes_of(const std::optional<routing::NearestPlace>& nearest) {
    constexpr Seconds day{24h};
    const Seconds time = nearest ? std::min(nearest->travel_time.typical, day) : day;
    return static_cast<double>(time.count()) / 60;
}

template <typename Failed>
void worst_first(std::vector<Failed>& all) {
    std::stable_sort(all.begin(), all.end(), [](const Failed& a, const Failed& b) {
        return a.failure.births_lost != b.failure.births_lost
                   ? a.failure.births_lost > b.failure.births_lost
                   : a.failure.birth_minutes_added > b.failure.birth_minutes_added;
    });
}

}  // namespace

CriticalLinks::CriticalLinks(std::shared_ptr<const routing::NearestPlaces> base,
                             std::vector<double> births, Seconds standard)
    : base_(std::move(base)), what_if_(base_), births_(std::move(births)), standard_(standard) {
    if (births_.size() != base_->settlements().size()) {
        throw InputError("births and settlements do not fit each other");
    }
}

Failure CriticalLinks::outcome(const routing::PlannedChange& change) {
    Failure made;
    for (const routing::SettlementChange& one : what_if_.evaluate(change)) {
        const double births = births_[one.settlement];
        const auto in_time = [&](const std::optional<routing::NearestPlace>& nearest) {
            return nearest && nearest->travel_time.allow <= standard_ ? 1.0 : 0.0;
        };
        made.births_lost += births * (in_time(one.before) - in_time(one.after));
        made.births_cut_off += one.before && !one.after ? births : 0;
        made.birth_minutes_added += births * (minutes_of(one.after) - minutes_of(one.before));
    }
    return made;
}

Failure CriticalLinks::failure_of(std::span<const routing::PieceId> pieces) {
    routing::PlannedChange change;
    for (const routing::PieceId piece : pieces) {
        change.changed_roads.push_back({piece, std::nullopt, std::nullopt});
    }
    return outcome(change);
}

Failure CriticalLinks::failure_of_place(std::uint32_t place) {
    routing::PlannedChange change;
    change.lost.push_back(place);
    return outcome(change);
}

std::vector<CriticalLink> CriticalLinks::all(const Work& work) {
    const routing::Metric& metric = base_->metric();
    const routing::RoadNetwork& network = metric.network();
    std::vector<CriticalLink> all;
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        if (number % told_every == 0) {
            work.at("critical roads",
                    static_cast<double>(number) / static_cast<double>(network.piece_count()));
        }
        const routing::PieceId piece{number};
        if (network.original(piece) != piece) {
            continue;  // closed with its original
        }
        const CriticalLink link{piece, failure_of(std::span(&piece, 1))};
        if (!(link.failure == Failure{})) {
            all.push_back(link);
        }
    }
    worst_first(all);
    return all;
}

std::vector<CriticalPair> CriticalLinks::pairs(std::span<const CriticalLink> links,
                                               std::size_t count) {
    std::vector<CriticalPair> all;
    const std::size_t most = std::min(count, links.size());
    for (std::size_t a = 0; a < most; ++a) {
        for (std::size_t b = a + 1; b < most; ++b) {
            const std::array both{links[a].piece, links[b].piece};
            all.push_back({both[0], both[1], failure_of(both)});
        }
    }
    worst_first(all);
    return all;
}

std::vector<CriticalPlace> CriticalLinks::places() {
    std::vector<CriticalPlace> all;
    for (std::uint32_t place = 0; place < base_->places().size(); ++place) {
        if (base_->is_capable()[place]) {
            all.push_back({place, failure_of_place(place)});
        }
    }
    worst_first(all);
    return all;
}

}  // namespace waybourne::coverage
