#include "dispatch/move_up.hpp"

#include <algorithm>

namespace waybourne::dispatch {

namespace {

std::vector<std::size_t> without(std::span<const std::size_t> idle, std::size_t vehicle) {
    std::vector<std::size_t> others;
    std::copy_if(idle.begin(), idle.end(), std::back_inserter(others),
                 [&](std::size_t other) { return other != vehicle; });
    return others;
}

std::optional<Move> best_move_of(const Waiting& waiting, std::span<const std::size_t> idle,
                                 std::size_t vehicle) {
    const auto place = where_to_wait(waiting.zones, waiting.from_bases[vehicle], waiting.now,
                                     without(idle, vehicle), waiting.busy);
    if (!place) {
        return std::nullopt;
    }
    const double gives = cost_of_sending(waiting.zones, waiting.now, idle, vehicle, waiting.busy);
    return Move{vehicle, place->base, place->gains - gives};
}

}  // namespace

std::optional<Move> best_move(const Waiting& waiting, std::span<const std::size_t> idle) {
    std::optional<Move> best;
    for (const std::size_t vehicle : idle) {
        const auto move = best_move_of(waiting, idle, vehicle);
        // Not above nothing: a vehicle does not move for nothing, whatever `least_gain` is.
        const bool is_worth_it = move && move->gains > 0 && move->gains >= waiting.least_gain;
        if (is_worth_it && (!best || move->gains > best->gains)) {
            best = move;
        }
    }
    return best;
}

std::vector<Move> moves_to_make(const Waiting& waiting, std::span<const std::size_t> idle,
                                std::size_t most) {
    ReachTable table = waiting.now;
    Waiting then{waiting.zones, table, waiting.from_bases, waiting.busy, waiting.least_gain};
    std::vector<ReachTable> from_bases(waiting.from_bases.begin(), waiting.from_bases.end());
    then.from_bases = from_bases;
    std::vector<Move> moves;
    while (moves.size() < most) {
        const auto move = best_move(then, idle);
        if (!move) {
            break;
        }
        for (std::size_t zone = 0; zone < waiting.zones.size(); ++zone) {
            table.set(zone, move->vehicle, from_bases[move->vehicle].reaches(zone, move->base));
        }
        from_bases[move->vehicle] = ReachTable(waiting.zones.size(), 0);  // has moved
        moves.push_back(*move);
    }
    return moves;
}

std::vector<MoveUp> move_ups(const Waiting& waiting, std::span<const std::size_t> idle) {
    std::vector<MoveUp> all;
    for (const std::size_t called : idle) {
        const auto left = without(idle, called);
        if (const auto move = best_move(waiting, left)) {
            const double before = expected_cover(waiting.zones, waiting.now, left, waiting.busy);
            all.push_back({called, *move, before, before + move->gains});
        }
    }
    return all;
}

std::vector<LastVehicle> last_vehicles(std::span<const Zone> zones, const ReachTable& table,
                                       std::span<const std::size_t> idle) {
    std::vector<LastVehicle> all;
    for (const std::size_t vehicle : idle) {
        LastVehicle last{vehicle, {}};
        for (std::size_t zone = 0; zone < zones.size(); ++zone) {
            const bool is_only_one = zones[zone].weight > 0 && table.reaches(zone, vehicle) &&
                                     std::none_of(idle.begin(), idle.end(), [&](std::size_t other) {
                                         return other != vehicle && table.reaches(zone, other);
                                     });
            if (is_only_one) {
                last.zones.push_back(zone);
            }
        }
        std::stable_sort(last.zones.begin(), last.zones.end(), [&](std::size_t a, std::size_t b) {
            return zones[a].weight > zones[b].weight;
        });
        if (!last.zones.empty()) {
            all.push_back(std::move(last));
        }
    }
    return all;
}

}  // namespace waybourne::dispatch
