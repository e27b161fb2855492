#include "routing/unpacker.hpp"

#include <algorithm>
#include <array>
#include <cassert>

namespace waybourne::routing {

/// Takes all waiting parts apart, and what comes of them.
template <typename Value, typename Values>
class Unpacker::Work {
public:
    Work(const Weighted<Value, Values>& weighted, std::vector<Part>& parts,
         std::vector<std::uint32_t>& waiting)
        : weighted_(weighted), h_(weighted.hierarchy.arrays()), parts_(parts), waiting_(waiting) {}

    void run() {
        for (std::size_t done = 0; done < waiting_.size();) {
            const std::size_t count = std::min(at_once, waiting_.size() - done);
            const std::span<Step> steps{steps_.data(), count};
            for (Step& step : steps) {
                step.part = waiting_[done++];
                weighted_.middles.fetch(parts_[step.part].arc);
            }
            std::for_each(steps.begin(), steps.end(), [this](Step& step) { look_at_note(step); });
            std::for_each(steps.begin(), steps.end(), [this](Step& step) { look_at_lists(step); });
            std::for_each(steps.begin(), steps.end(), [this](Step& step) { look_at_leg(step); });
            std::for_each(steps.begin(), steps.end(), [this](Step& step) { look_at_tail(step); });
            std::for_each(steps.begin(), steps.end(),
                          [this](const Step& step) { take_apart(step); });
        }
    }

private:
    using Arcs = std::span<const std::uint32_t>;

    /// How many parts are taken apart together: measured.
    static constexpr std::size_t at_once = 32;

    /// What becomes known of one part, each time from memory asked for one round before.
    struct Step {
        std::uint32_t part = 0;
        std::uint8_t note = MiddleNotes::unknown;
        /// Where what was noted stands in `in_arc` or `down_arc`.
        std::uint32_t place = 0;
        /// Over a neighbour: the leg to the lower end.
        std::uint32_t to_low = no_arc;
        bool is_own() const {
            return note >= MiddleNotes::first_own && note < MiddleNotes::first_neighbour;
        }
        bool is_over_neighbour() const { return note >= MiddleNotes::first_neighbour; }
    };
    struct Legs {
        std::uint32_t to_low = no_arc;
        std::uint32_t to_high = no_arc;
    };

    static void fetch(const void* address) { __builtin_prefetch(address); }

    void look_at_note(Step& step) const {
        const Part& part = parts_[step.part];
        step.note = weighted_.middles.of(part.arc, part.climbs);
        fetch(step.is_own() ? &h_.in_first[part.low] : &h_.down_first[part.low]);
    }
    void look_at_lists(Step& step) const {
        const Part& part = parts_[step.part];
        if (step.is_own()) {
            step.place = h_.in_first[part.low] + (step.note - MiddleNotes::first_own);
            fetch(&h_.in_arc[step.place]);
        } else if (step.is_over_neighbour()) {
            step.place = h_.down_first[part.low] + (step.note - MiddleNotes::first_neighbour);
            fetch(&h_.down_arc[step.place]);
        }
    }
    void look_at_leg(Step& step) const {
        if (step.is_over_neighbour()) {
            step.to_low = h_.down_arc[step.place];
            fetch(&h_.up_head[step.to_low]);
            fetch(&h_.row_tails[step.to_low / 64]);
            weighted_.middles.fetch(step.to_low);
        }
    }
    void look_at_tail(Step& step) const {
        if (step.is_over_neighbour()) {
            fetch(&h_.up_first[h_.row_tails[step.to_low / 64]]);
        }
    }

    void take_apart(const Step& step) {
        Part& part = parts_[step.part];
        if (step.is_own()) {
            part.arc = h_.in_arc[step.place] / 2;
        } else if (step.is_over_neighbour()) {
            put_legs(step.part, {step.to_low, second_leg(step.to_low, part.high)});
        } else {
            find_out(step.part);
        }
    }
    /// The way first falls to the middle, then climbs from it.
    void put_legs(std::uint32_t number, const Legs& legs) {
        const Part part = parts_[number];
        const std::uint32_t middle = h_.tail(legs.to_low);
        const auto second = static_cast<std::uint32_t>(parts_.size());
        const Part to_low{middle, part.low, legs.to_low, second, false};
        const Part to_high{middle, part.high, legs.to_high, second, false};
        parts_[number] = part.climbs ? to_low : to_high;
        parts_.push_back(part.climbs ? to_high : to_low);
        parts_.back().next = part.next;
        parts_.back().climbs = true;
        waiting_.push_back(number);
        waiting_.push_back(second);
    }

    /// The up arc to `high` from where `to_low` starts: one of those behind it.
    std::uint32_t second_leg(std::uint32_t to_low, std::uint32_t high) const {
        std::uint32_t arc = to_low + 1;
        while (h_.up_head[arc] != high) {
            ++arc;
        }
        return arc;
    }

    /// Takes a part apart of which nothing is noted, and notes it.
    void find_out(std::uint32_t number) {
        const Part part = parts_[number];
        const std::uint32_t first = h_.in_first[part.low];
        for (std::uint32_t i = first; i < h_.in_first[part.low + 1]; ++i) {
            if (is_own(part, i)) {
                parts_[number].arc = h_.in_arc[i] / 2;
                weighted_.middles.write_own(part.arc, part.climbs, i - first);
                return;
            }
        }
        const Arcs to_lows = lower_arcs(part.low);
        const Legs legs = find_legs(part, to_lows);
        const auto neighbour =
            std::lower_bound(to_lows.begin(), to_lows.end(), legs.to_low) - to_lows.begin();
        weighted_.middles.write_neighbour(part.arc, part.climbs,
                                          static_cast<std::size_t>(neighbour));
        put_legs(number, legs);
    }
    /// Whether the part is this one of the lower end's arcs of the network.
    bool is_own(const Part& part, std::uint32_t i) const {
        return h_.up_first[part.low] + h_.in_slot[i] == part.arc &&
               (h_.in_arc[i] % 2 == 0) == part.climbs &&
               weighted_.values[h_.in_arc[i] / 2] == value_of(part.arc, part.climbs);
    }
    /// The first lower triangle that has the part's value.
    Legs find_legs(const Part& part, Arcs to_lows) const {
        const Value value = value_of(part.arc, part.climbs);
        // both lists are in the order of the arcs, and the legs of a triangle lie in one row
        Arcs to_highs = lower_arcs(part.high);
        while (true) {
            to_highs = from_on(to_highs, to_lows.front() + 1);
            assert(!to_highs.empty());
            const std::uint32_t to_high = to_highs.front();
            const Arcs beyond = from_on(to_lows, to_high);
            const std::uint32_t to_low = *(beyond.data() - 1);
            to_lows = beyond;
            if (h_.row_end(to_low) <= to_high) {
                continue;
            }
            const Value way = part.climbs ? sum(value_of(to_low, false), value_of(to_high, true))
                                          : sum(value_of(to_high, false), value_of(to_low, true));
            if (way == value) {
                return {to_low, to_high};
            }
        }
    }
    const Value& value_of(std::uint32_t arc, bool climbs) const {
        return climbs ? weighted_.weights[arc].up : weighted_.weights[arc].down;
    }
    Arcs lower_arcs(std::uint32_t rank) const {
        return h_.down_arc.subspan(h_.down_first[rank],
                                   h_.down_first[rank + 1] - h_.down_first[rank]);
    }
    /// What is left from `arc` on. Steps that double, since it is mostly near.
    static Arcs from_on(const Arcs& arcs, std::uint32_t arc) {
        std::size_t step = 1;
        while (step <= arcs.size() && arcs[step - 1] < arc) {
            step *= 2;
        }
        const auto begin = arcs.begin() + static_cast<std::ptrdiff_t>(step / 2);
        const auto end = arcs.begin() + static_cast<std::ptrdiff_t>(std::min(step, arcs.size()));
        return {std::lower_bound(begin, end, arc), arcs.end()};
    }

    const Weighted<Value, Values>& weighted_;
    const HierarchyArrays& h_;
    std::vector<Part>& parts_;
    std::vector<std::uint32_t>& waiting_;
    std::array<Step, at_once> steps_;
};

template <typename Value, typename Values>
void Unpacker::run(const Weighted<Value, Values>& weighted, const UpSearch<Value>& from,
                   const UpSearch<Value>& to, const Meeting<Value>& meeting,
                   std::vector<std::uint32_t>& arcs) {
    arcs.clear();
    parts_.clear();
    waiting_.clear();
    if (meeting.rank == no_rank) {
        return;
    }
    const HierarchyArrays& h = weighted.hierarchy.arrays();
    const auto add_chain = [&](const UpSearch<Value>& search, bool climbs) {
        std::uint32_t high = meeting.rank;
        for (std::uint32_t low = search.previous_at_depth(h.depth[high]); low != no_rank;
             low = search.previous_at_depth(h.depth[high])) {
            parts_.push_back({low, high, h.up_arc(low, high), no_part, climbs});
            high = low;
        }
    };
    add_chain(from, true);
    std::reverse(parts_.begin(), parts_.end());  // the climb is known from its top
    add_chain(to, false);
    for (std::uint32_t i = 0; i < parts_.size(); ++i) {
        parts_[i].next = i + 1 < parts_.size() ? i + 1 : no_part;
        waiting_.push_back(i);
    }
    if (parts_.empty()) {
        return;
    }
    Work<Value, Values>{weighted, parts_, waiting_}.run();
    for (std::uint32_t i = 0; i != no_part; i = parts_[i].next) {
        arcs.push_back(parts_[i].arc);
    }
}

template void Unpacker::run(const Weighted<Time>&, const UpSearch<Time>&, const UpSearch<Time>&,
                            const Meeting<Time>&, std::vector<std::uint32_t>&);
template void Unpacker::run(const Weighted<TimeAndSpread>&, const UpSearch<TimeAndSpread>&,
                            const UpSearch<TimeAndSpread>&, const Meeting<TimeAndSpread>&,
                            std::vector<std::uint32_t>&);
template void Unpacker::run(const Weighted<TimeAndSpread, MetricValues>&,
                            const UpSearch<TimeAndSpread>&, const UpSearch<TimeAndSpread>&,
                            const Meeting<TimeAndSpread>&, std::vector<std::uint32_t>&);

}  // namespace waybourne::routing
