#include "routing/customise.hpp"

#include <algorithm>
#include <utility>

#include "routing/internal/marks.hpp"
#include "routing/internal/parallel.hpp"
#include "routing/internal/wide.hpp"

namespace waybourne::routing {

namespace {

/// How many lower neighbours before its turn one is fetched from memory: measured.
constexpr std::uint32_t ahead = 16;

/// Which up arc of the rank at work, counted from its first, leads to each head. One per thread.
using SlotByHead = std::vector<std::uint32_t>;

/// What a customisation works on.
template <typename Value>
struct Work {
    const HierarchyArrays& h;
    std::span<const Value> values;
    std::span<BothWays<Value>> weights;
};

/// One of several threads that do something together.
struct Share {
    std::uint32_t thread = 0;
    std::uint32_t threads = 1;

    std::uint32_t begin(std::uint32_t count) const { return count * thread / threads; }
    std::uint32_t end(std::uint32_t count) const { return count * (thread + 1) / threads; }
};

/// Works out all up arcs of rank `y` into `row`: from the network's arcs and from y's lower
/// triangles, of these a share. The least over all shares is final.
template <typename Value>
[[gnu::always_inline]] inline void pull(const Work<Value>& work, std::uint32_t y, Share share,
                                        BothWays<Value>* row, std::uint32_t* slot_by_head) {
    const HierarchyArrays& h = work.h;
    const BothWays<Value>* const weights = work.weights.data();
    const std::uint32_t* const up_head = h.up_head.data();
    const std::uint32_t first = h.up_first[y];
    for (std::uint32_t a = first; a < h.up_first[y + 1]; ++a) {
        slot_by_head[up_head[a]] = a - first;
        row[a - first] = {};
    }
    if (share.thread == 0) {
        for (std::uint32_t i = h.in_first[y]; i < h.in_first[y + 1]; ++i) {
            BothWays<Value>& both = row[h.in_slot[i]];
            Value& side = h.in_arc[i] % 2 == 0 ? both.up : both.down;
            side = lesser(side, work.values[h.in_arc[i] / 2]);
        }
    }
    const std::uint32_t below = h.down_first[y + 1] - h.down_first[y];
    const std::uint32_t end = h.down_first[y] + share.end(below);
    for (std::uint32_t i = h.down_first[y] + share.begin(below); i < end; ++i) {
        if (i + ahead < end) {
            __builtin_prefetch(&weights[h.down_arc[i + ahead]]);
            __builtin_prefetch(&up_head[h.down_arc[i + ahead]]);
        }
        const std::uint32_t xy = h.down_arc[i];
        const BothWays<Value> leg = weights[xy];
        const std::uint32_t row_end = h.row_end(xy);
        for (std::uint32_t xz = xy + 1; xz < row_end; ++xz) {  // all of these end above y
            BothWays<Value>& yz = row[slot_by_head[up_head[xz]]];
            yz = lesser(yz, across(leg, weights[xz]));
        }
    }
}

/// Every `step`th rank from `begin` up to `end`.
struct Ranks {
    std::uint32_t begin;
    std::uint32_t end;
    std::uint32_t step;
};

/// All of each of these ranks, in ascending order.
template <typename Value>
[[gnu::always_inline]] inline void pull_all(const Work<Value>& work, Ranks ranks,
                                            std::uint32_t* slot_by_head) {
    for (std::uint32_t y = ranks.begin; y < ranks.end; y += ranks.step) {
        pull(work, y, {}, work.weights.data() + work.h.up_first[y], slot_by_head);
    }
}

/// A share of each of these ranks, into rows that follow each other as the ranks' up arcs do.
template <typename Value>
[[gnu::always_inline]] inline void pull_share(const Work<Value>& work, Ranks ranks, Share share,
                                              BothWays<Value>* rows, std::uint32_t* slot_by_head) {
    const std::uint32_t first = work.h.up_first[ranks.begin];
    for (std::uint32_t y = ranks.begin; y < ranks.end; y += ranks.step) {
        pull(work, y, share, rows + (work.h.up_first[y] - first), slot_by_head);
    }
}

/// Ranks of the top by falling depth: those of one depth do not depend on each other.
std::vector<std::uint32_t> top_levels(const HierarchyArrays& h) {
    std::vector<std::uint32_t> first;
    const auto nodes = static_cast<std::uint32_t>(h.node_of_rank.size());
    for (std::uint32_t y = h.job_first.back(); y < nodes; ++y) {
        if (y == h.job_first.back() || h.depth[y] != h.depth[y - 1]) {
            first.push_back(y);
        }
    }
    first.push_back(nodes);
    return first;
}

/// The top on several threads: one level after the other, all threads on each.
template <typename Value>
class Top {
public:
    Top(const Work<Value>& work, unsigned threads)
        : work_(work), threads_(threads), levels_(top_levels(work.h)), rows_(threads) {}

    /// On each thread. @param together where all of them wait for each other
    void run(std::uint32_t thread, MeetingPoint& together, std::uint32_t* slot_by_head) {
        const Share share{thread, threads_};
        for (std::size_t level = 0; level + 1 < levels_.size(); ++level) {
            const std::uint32_t begin = levels_[level];
            const std::uint32_t end = levels_[level + 1];
            if (is_shared(begin, end)) {
                std::vector<BothWays<Value>>& rows = rows_[thread];
                rows.resize(work_.h.up_first[end] - work_.h.up_first[begin]);
                Wide<&pull_share<Value>>::best()(work_, Ranks{begin, end, 1}, share, rows.data(),
                                                 slot_by_head);
                together.arrive_and_wait();
                join(begin, share);
            } else {
                Wide<&pull_all<Value>>::best()(work_, Ranks{begin + thread, end, threads_},
                                               slot_by_head);
            }
            together.arrive_and_wait();
        }
    }

private:
    /// Where a level has few ranks, as near the root, all threads work on each of them.
    bool is_shared(std::uint32_t begin, std::uint32_t end) const {
        constexpr std::uint32_t few = 4;
        return threads_ > 1 && end - begin < few * threads_;
    }
    /// Of the level's up arcs a share: the least that any thread has found.
    void join(std::uint32_t begin, Share share) {
        const auto count = static_cast<std::uint32_t>(rows_[share.thread].size());
        BothWays<Value>* const weights = work_.weights.data() + work_.h.up_first[begin];
        for (std::uint32_t a = share.begin(count); a < share.end(count); ++a) {
            BothWays<Value> least = rows_[0][a];
            for (std::uint32_t thread = 1; thread < threads_; ++thread) {
                least = lesser(least, rows_[thread][a]);
            }
            weights[a] = least;
        }
    }

    const Work<Value>& work_;
    std::uint32_t threads_;
    std::vector<std::uint32_t> levels_;
    /// By thread: what it has found of the level at work.
    std::vector<std::vector<BothWays<Value>>> rows_;
};

}  // namespace

template <typename Value>
void customise(const Hierarchy& hierarchy, std::span<const Value> values,
               std::span<BothWays<Value>> weights, unsigned wanted_threads) {
    const unsigned threads = usable_threads(wanted_threads);
    const HierarchyArrays& h = hierarchy.arrays();
    const auto jobs = static_cast<std::uint32_t>(h.job_first.size() - 1);
    const Work<Value> work{h, values, weights};
    Top<Value> top{work, threads};
    std::atomic<std::uint32_t> next_job{0};
    MeetingPoint together{threads};
    on_threads(threads, [&](unsigned thread) {
        SlotByHead slot_by_head(hierarchy.node_count());
        for (std::uint32_t job = next_job++; job < jobs; job = next_job++) {
            Wide<&pull_all<Value>>::best()(work, Ranks{h.job_first[job], h.job_first[job + 1], 1},
                                           slot_by_head.data());
        }
        together.arrive_and_wait();
        top.run(thread, together, slot_by_head.data());
    });
}

template <typename Value>
void make_perfect(const Hierarchy& hierarchy, std::span<BothWays<Value>> weights) {
    const HierarchyArrays& h = hierarchy.arrays();
    std::vector<std::uint32_t> arc_by_head(hierarchy.node_count());
    for (std::uint32_t x = hierarchy.node_count(); x-- > 0;) {
        for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1]; ++a) {
            arc_by_head[h.up_head[a]] = a;
        }
        // for each pair y < z of upper neighbours, arc yz exact already
        for (std::uint32_t xy = h.up_first[x]; xy < h.up_first[x + 1]; ++xy) {
            const std::uint32_t y = h.up_head[xy];
            std::uint32_t xz = xy + 1;
            for (std::uint32_t yz = h.up_first[y]; yz < h.up_first[y + 1] && xz < h.up_first[x + 1];
                 ++yz) {
                if (h.up_head[yz] != h.up_head[xz]) {
                    continue;
                }
                BothWays<Value>& near = weights[xy];
                BothWays<Value>& far = weights[xz];
                const BothWays<Value>& across = weights[yz];
                near.up = lesser(near.up, sum(far.up, across.down));
                near.down = lesser(near.down, sum(across.up, far.down));
                far.up = lesser(far.up, sum(near.up, across.up));
                far.down = lesser(far.down, sum(across.down, near.down));
                ++xz;
            }
        }
    }
}

namespace {

/// Whether a triangle that said `before` and now says `after` can change an arc worth `value`.
template <typename Value>
bool matters(const Value& value, const Value& before, const Value& after) {
    return after < value || (before == value && after != before);
}

/// Follows changes upwards: rank by rank, and within a rank all its arcs that are due.
template <typename Value>
class Update {
public:
    Update(const Hierarchy& hierarchy, std::span<const Value> values,
           std::span<BothWays<Value>> weights)
        : h_(hierarchy.arrays()),
          values_(values),
          weights_(weights),
          due_ranks_(hierarchy.node_count()),
          due_arcs_(hierarchy.arc_count()),
          at_depth_(hierarchy.height()) {}

    void put(std::uint32_t tail, std::uint32_t arc) {
        due_ranks_.set(tail);
        due_arcs_.set(arc);
    }

    /// @return the up arcs that have changed
    std::vector<std::uint32_t> run() {
        const auto nodes = static_cast<std::uint32_t>(h_.parent.size());
        for (std::uint32_t y = due_ranks_.next(0, nodes); y < nodes;
             y = due_ranks_.next(y + 1, nodes)) {
            recompute(y);
            if (!changed_.empty()) {
                propagate(y);
            }
        }
        return std::move(different_);
    }

private:
    /// An arc of the rank at work that may have another value.
    struct Due {
        std::uint32_t head;
        std::uint32_t slot;
        BothWays<Value> value;
    };

    /// Gives the arcs of `y` that are due their values, from the network and y's lower triangles.
    void recompute(std::uint32_t y) {
        const std::uint32_t first = h_.up_first[y];
        const std::uint32_t end = h_.up_first[y + 1];
        due_.clear();
        for (std::uint32_t a = due_arcs_.next(first, end); a < end;
             a = due_arcs_.next(a + 1, end)) {
            due_.push_back({h_.up_head[a], a - first, {}});
        }
        look_at_network(y);
        // a few cost less one by one, more of them together: measured
        constexpr std::uint32_t few = 4;
        if (due_.size() * few < end - first) {
            for (Due& due : due_) {
                look_down_for(y, due);
            }
        } else {
            look_down(y);
        }
        before_.assign(weights_.begin() + first, weights_.begin() + end);
        changed_.clear();
        for (const Due& due : due_) {
            BothWays<Value>& now = weights_[first + due.slot];
            if (due.value != now) {
                now = due.value;
                changed_.push_back(due.slot);
                different_.push_back(first + due.slot);
            }
        }
    }

    void look_at_network(std::uint32_t y) {
        for (std::uint32_t i = h_.in_first[y]; i < h_.in_first[y + 1]; ++i) {
            for (Due& due : due_) {
                if (due.slot == h_.in_slot[i]) {
                    Value& side = h_.in_arc[i] % 2 == 0 ? due.value.up : due.value.down;
                    side = lesser(side, values_[h_.in_arc[i] / 2]);
                }
            }
        }
    }

    /// Takes what the lower triangles of `y` say of one arc: those over the ranks below both of its
    /// ends. The lists of both ends are ascending, and the arcs of one rank follow each other, so
    /// of the arcs to y only the last before an arc to the other end can be its neighbour.
    void look_down_for(std::uint32_t y, Due& due) {
        const auto to_y =
            h_.down_arc.subspan(h_.down_first[y], h_.down_first[y + 1] - h_.down_first[y]);
        if (to_y.empty()) {
            return;
        }
        const auto all = h_.down_arc.begin();
        auto xz = std::lower_bound(all + h_.down_first[due.head], all + h_.down_first[due.head + 1],
                                   to_y.front());
        const auto end = all + h_.down_first[due.head + 1];
        std::size_t next = 0;
        legs_.clear();
        for (; xz != end && *xz < h_.up_first[y]; ++xz) {
            while (next < to_y.size() && to_y[next] < *xz) {
                ++next;
            }
            const std::uint32_t xy = to_y[next - 1];
            if (next_mark(h_.row_marks, xy + 1, *xz + 1) == *xz + 1) {
                __builtin_prefetch(&weights_[xy]);
                __builtin_prefetch(&weights_[*xz]);
                legs_.emplace_back(xy, *xz);
            }
        }
        for (const auto& [xy, other] : legs_) {
            due.value = lesser(due.value, across(weights_[xy], weights_[other]));
        }
    }

    /// The same for all arcs of `y`. Heads of y are ancestors of it, so each has a depth of its
    /// own.
    void look_down(std::uint32_t y) {
        for (std::uint32_t a = h_.up_first[y]; a < h_.up_first[y + 1]; ++a) {
            at_depth_[h_.depth[h_.up_head[a]]] = {};
        }
        const std::uint32_t begin = h_.down_first[y];
        const std::uint32_t end = h_.down_first[y + 1];
        for (std::uint32_t i = begin; i < std::min(begin + ahead, end); ++i) {
            fetch(h_.down_arc[i]);
        }
        for (std::uint32_t i = begin; i < end; ++i) {
            if (i + ahead < end) {
                fetch(h_.down_arc[i + ahead]);
            }
            const std::uint32_t xy = h_.down_arc[i];
            const BothWays<Value> leg = weights_[xy];
            const std::uint32_t row_end = h_.row_end(xy);
            for (std::uint32_t xz = xy + 1; xz < row_end; ++xz) {
                BothWays<Value>& yz = at_depth_[h_.depth[h_.up_head[xz]]];
                yz = lesser(yz, across(leg, weights_[xz]));
            }
        }
        for (Due& due : due_) {
            due.value = lesser(due.value, at_depth_[h_.depth[due.head]]);
        }
    }

    /// From memory, for soon: the arc and those after it.
    void fetch(std::uint32_t arc) const {
        __builtin_prefetch(&weights_[arc]);
        __builtin_prefetch(&h_.up_head[arc]);
        __builtin_prefetch(&h_.row_marks[arc / 64]);
    }

    /// Puts what the changed arcs of `y` are legs of, if the change can matter there.
    void propagate(std::uint32_t y) {
        const std::uint32_t first = h_.up_first[y];
        const auto degree = static_cast<std::uint32_t>(before_.size());
        std::size_t later = 0;  // of changed_: the first beyond i
        for (std::uint32_t i = 0; i < degree; ++i) {
            const bool has_changed = later < changed_.size() && changed_[later] == i;
            if (has_changed) {
                ++later;
            }
            const std::uint32_t w = h_.up_head[first + i];
            // what y sees above w is seen from w too, so w's list is at least as far on
            std::uint32_t at = h_.up_first[w];
            std::uint32_t last = i;
            const auto look = [&](std::uint32_t j) {
                at += j - last - 1;
                last = j;
                const BothWays<Value> said = across(before_[i], before_[j]);
                const BothWays<Value> says = across(weights_[first + i], weights_[first + j]);
                const std::uint32_t z = h_.up_head[first + j];
                while (h_.up_head[at] < z) {
                    ++at;
                }
                if (matters(weights_[at].up, said.up, says.up) ||
                    matters(weights_[at].down, said.down, says.down)) {
                    put(w, at);
                }
                ++at;
            };
            if (has_changed) {
                for (std::uint32_t j = i + 1; j < degree; ++j) {
                    look(j);
                }
            } else {
                for (std::size_t k = later; k < changed_.size(); ++k) {
                    look(changed_[k]);
                }
            }
        }
    }

    const HierarchyArrays& h_;
    std::span<const Value> values_;
    std::span<BothWays<Value>> weights_;
    Marks due_ranks_;
    Marks due_arcs_;
    std::vector<Due> due_;
    /// Of the arc at work: the lower triangles.
    std::vector<std::pair<std::uint32_t, std::uint32_t>> legs_;
    /// Of the rank at work: what its lower triangles say, by their head's depth.
    std::vector<BothWays<Value>> at_depth_;
    /// Of the rank at work: all its arcs as they were, and the slots of those that have changed.
    std::vector<BothWays<Value>> before_;
    std::vector<std::uint32_t> changed_;
    std::vector<std::uint32_t> different_;
};

}  // namespace

template <typename Value>
std::vector<std::uint32_t> customise_again(const Hierarchy& hierarchy,
                                           std::span<const Value> values,
                                           std::span<const UpArc> changed,
                                           std::span<BothWays<Value>> weights) {
    Update<Value> update{hierarchy, values, weights};
    for (const UpArc& one : changed) {
        if (one.arc != no_arc) {
            update.put(one.tail, one.arc);
        }
    }
    return update.run();
}

template void customise(const Hierarchy&, std::span<const Time>, std::span<BothWays<Time>>,
                        unsigned);
template void make_perfect(const Hierarchy&, std::span<BothWays<Time>>);
template std::vector<std::uint32_t> customise_again(const Hierarchy&, std::span<const Time>,
                                                    std::span<const UpArc>,
                                                    std::span<BothWays<Time>>);

template void customise(const Hierarchy&, std::span<const TimeAndSpread>,
                        std::span<BothWays<TimeAndSpread>>, unsigned);
template void make_perfect(const Hierarchy&, std::span<BothWays<TimeAndSpread>>);
template std::vector<std::uint32_t> customise_again(const Hierarchy&,
                                                    std::span<const TimeAndSpread>,
                                                    std::span<const UpArc>,
                                                    std::span<BothWays<TimeAndSpread>>);

template void customise(const Hierarchy&, std::span<const Times<4>>, std::span<BothWays<Times<4>>>,
                        unsigned);
template void customise(const Hierarchy&, std::span<const Times<8>>, std::span<BothWays<Times<8>>>,
                        unsigned);

}  // namespace waybourne::routing
