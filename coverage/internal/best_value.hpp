#pragma once
/// Large models in which the best value among the chosen options counts (p-median, gradual cover):
/// exchanges that look at every pair at once, and a bound without any linear programme.

#include <span>
#include <vector>

#include "coverage/location.hpp"

namespace waybourne::coverage {

/// Exchanges of one option against one, the best pair each time, until none gains. Every pair is
/// judged from the best and the second best option of each settlement (Whitaker, INFOR 21, 1983,
/// 95-108, and Resende, Werneck, European J. of Operational Research 174, 2007, 54-68; both from
/// memory): O(what options serve) a round and not that × the options chosen.
/// @param start options within the limit @return in ascending order
std::vector<std::uint32_t> best_exchanges(const LocationModel& model, const Limit& limit,
                                          std::vector<std::uint32_t> start, const Work& work);

/// What a Lagrangean relaxation says of the best plan.
struct Relaxed {
    /// No plan within the limit is worth more.
    double bound = 0;
    /// The best plan that was met on the way; never worth less than the one it started from.
    std::vector<std::uint32_t> options;
    double value = 0;
    /// Options that no better plan than `value` takes, and those that every better one takes.
    std::vector<bool> is_out;
    std::vector<bool> is_in;
};

/// That a settlement counts one option only is given up for a price of each (Cornuejols, Fisher,
/// Nemhauser, Management Science 23, 1977, 789-810; from memory), and the prices are moved by
/// subgradients (Held, Wolfe, Crowder 1974; from memory) until bound and value meet, nothing moves
/// any more, or the time is over. Any prices give a true bound. The limit's count and budget count,
/// the budget by its continuous relaxation; that options of one site exclude each other does not.
/// @param start a plan within the limit @param gap stops at this share
Relaxed relaxed(const LocationModel& model, const Limit& limit, std::vector<std::uint32_t> start,
                Seconds time, double gap, const Work& work);

}  // namespace waybourne::coverage
