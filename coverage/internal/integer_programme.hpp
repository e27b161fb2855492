#pragma once
/// A linear programme some of whose variables are whole numbers, and CBC that solves it.

#include <limits>
#include <vector>

#include "vocabulary/time.hpp"

namespace waybourne::coverage {

class IntegerProgramme {
public:
    static constexpr double without_limit = std::numeric_limits<double>::infinity();
    struct Term {
        int column = 0;
        double factor = 0;
    };

    /// @return its number
    int add_column(double gain, double lower, double upper, bool is_whole);
    /// lower <= sum of the terms <= upper
    void add_row(std::vector<Term> terms, double lower, double upper);

    bool is_empty() const { return columns_.empty(); }

    struct Solution {
        /// Empty when none was found.
        std::vector<double> columns;
        double value = 0;
        /// No solution has a greater value.
        double bound = 0;
        bool is_proven = false;
        /// Proven: there is none at all.
        bool is_impossible = false;
    };
    /// Maximises the gains. One thread, fixed seed: the same answer every time, unless the limit
    /// ends the search. @param gap stops once value and bound differ by no more than this share
    Solution maximise(Seconds limit, double gap) const;

private:
    struct Column {
        double gain;
        double lower;
        double upper;
        bool is_whole;
    };
    struct Row {
        std::vector<Term> terms;
        double lower;
        double upper;
    };
    std::vector<Column> columns_;
    std::vector<Row> rows_;
};

}  // namespace waybourne::coverage
