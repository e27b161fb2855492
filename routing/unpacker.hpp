#pragma once
/// From a way through the hierarchy back to the arcs of the network.

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "routing/up_search.hpp"

namespace waybourne::routing {

/// Where the values of up arcs come from: found out when a way first passes one, noted for all that
/// come later. Belongs to one customised metric. Any number of threads may read and write at once:
/// whatever one of them notes is true for all. 2 bytes per up arc.
class MiddleNotes {
public:
    // what a note says
    /// Nobody has asked yet, or the number is too great for a note.
    static constexpr std::uint8_t unknown = 0;
    /// This plus i: the value is that of an arc of the network, number i of the lower end's
    /// (`HierarchyArrays::in_arc`).
    static constexpr std::uint8_t first_own = 1;
    /// This plus i: the value came over the lower end's lower neighbour number i
    /// (`HierarchyArrays::down_arc`).
    static constexpr std::uint8_t first_neighbour = 32;

    explicit MiddleNotes(std::size_t up_arcs) : notes_(2 * up_arcs, unknown) {}

    std::uint8_t of(std::uint32_t up_arc, bool climbs) const {
        return __atomic_load_n(&note(up_arc, climbs), __ATOMIC_RELAXED);
    }
    void write_own(std::uint32_t up_arc, bool climbs, std::size_t number) const {
        if (number < first_neighbour - first_own) {
            write(up_arc, climbs, first_own + number);
        }
    }
    void write_neighbour(std::uint32_t up_arc, bool climbs, std::size_t number) const {
        if (number < 256 - first_neighbour) {
            write(up_arc, climbs, first_neighbour + number);
        }
    }
    /// From memory, for soon.
    void fetch(std::uint32_t up_arc) const { __builtin_prefetch(&notes_[std::size_t{2} * up_arc]); }

private:
    void write(std::uint32_t up_arc, bool climbs, std::size_t what) const {
        __atomic_store_n(&note(up_arc, climbs), static_cast<std::uint8_t>(what), __ATOMIC_RELAXED);
    }
    // Read and written by the compiler's own functions: not every standard library has atomic_ref.
    std::uint8_t& note(std::uint32_t up_arc, bool climbs) const {
        return notes_[std::size_t{2} * up_arc + (climbs ? 0 : 1)];
    }

    mutable std::vector<std::uint8_t> notes_;
};

/// A hierarchy under one set of weights, with what they were customised from.
/// @tparam Values gives by `[]` the value of each arc of the network
template <typename Value, typename Values = std::span<const Value>>
struct Weighted {
    const Hierarchy& hierarchy;
    Values values;
    std::span<const BothWays<Value>> weights;
    const MiddleNotes& middles;
};

/// Takes up arcs apart: each is an arc of the network or the two legs of a lower triangle. All
/// parts known so far wait in one queue and are taken a few dozen at a time, so that what they need
/// comes from memory together. One per thread; its room is used again. O(arcs of the way), and
/// where a middle is not yet noted O(lower neighbours) to find it.
class Unpacker {
public:
    /// @param arcs ways of up to that many take nothing more from the heap
    explicit Unpacker(std::size_t arcs = 0) {
        parts_.reserve(arcs);
        waiting_.reserve(2 * arcs);
    }

    /// Puts into `arcs` the arcs of the network along the way between two searches that meet at
    /// `meeting`, in order; none where they do not meet.
    template <typename Value, typename Values>
    void run(const Weighted<Value, Values>& weighted, const UpSearch<Value>& from,
             const UpSearch<Value>& to, const Meeting<Value>& meeting,
             std::vector<std::uint32_t>& arcs);

private:
    /// Of the way: an up arc in one of its directions, later the first of what it consists of.
    struct Part {
        std::uint32_t low;
        std::uint32_t high;
        /// In the end an arc of the network.
        std::uint32_t arc;
        /// What follows on the way, by index; `no_part` at its end.
        std::uint32_t next;
        bool climbs;
    };
    static constexpr std::uint32_t no_part = 0xffffffffU;
    template <typename Value, typename Values>
    class Work;

    std::vector<Part> parts_;
    /// Those still to be taken apart, in the order in which they were found.
    std::vector<std::uint32_t> waiting_;
};

}  // namespace waybourne::routing
