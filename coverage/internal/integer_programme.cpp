#include "coverage/internal/integer_programme.hpp"

#include <coin/Cbc_C_Interface.h>

#include <algorithm>
#include <memory>
#include <mutex>
#include <string>

namespace waybourne::coverage {

namespace {

struct Delete {
    void operator()(Cbc_Model* model) const { Cbc_deleteModel(model); }
};

/// A solution counts as the best when nothing better by more than this can be.
constexpr double crumb = 1e-6;

}  // namespace

int IntegerProgramme::add_column(double gain, double lower, double upper, bool is_whole) {
    columns_.push_back({gain, lower, upper, is_whole});
    return static_cast<int>(columns_.size()) - 1;
}

void IntegerProgramme::add_row(std::vector<Term> terms, double lower, double upper) {
    rows_.push_back({std::move(terms), lower, upper});
}

IntegerProgramme::Solution IntegerProgramme::maximise(Seconds limit, double gap) const {
    // CBC's solver keeps the place in its list of parameters in variables of the whole process: two
    // threads at once lose it, and one may then read the next parameter from the standard input.
    static std::mutex one_at_a_time;
    const std::lock_guard lock{one_at_a_time};
    std::vector<std::vector<std::pair<int, double>>> by_column(columns_.size());
    std::vector<double> row_lower;
    std::vector<double> row_upper;
    for (std::size_t row = 0; row < rows_.size(); ++row) {
        for (const Term& term : rows_[row].terms) {
            by_column[static_cast<std::size_t>(term.column)].emplace_back(static_cast<int>(row),
                                                                          term.factor);
        }
        row_lower.push_back(rows_[row].lower);
        row_upper.push_back(rows_[row].upper);
    }
    std::vector<int> starts{0};
    std::vector<int> indices;
    std::vector<double> factors;
    std::vector<double> lower;
    std::vector<double> upper;
    std::vector<double> loss;
    for (std::size_t column = 0; column < columns_.size(); ++column) {
        for (const auto& [row, factor] : by_column[column]) {
            indices.push_back(row);
            factors.push_back(factor);
        }
        starts.push_back(static_cast<int>(indices.size()));
        lower.push_back(columns_[column].lower);
        upper.push_back(columns_[column].upper);
        loss.push_back(-columns_[column].gain);
    }
    // Without any whole number another solver takes over, which writes to the standard output: one
    // more that means nothing keeps it out.
    const bool is_linear = std::none_of(columns_.begin(), columns_.end(),
                                        [](const Column& column) { return column.is_whole; });
    if (is_linear) {
        starts.push_back(starts.back());
        lower.push_back(0);
        upper.push_back(1);
        loss.push_back(0);
    }
    const std::unique_ptr<Cbc_Model, Delete> model(Cbc_newModel());
    Cbc_loadProblem(model.get(), static_cast<int>(loss.size()), static_cast<int>(rows_.size()),
                    starts.data(), indices.data(), factors.data(), lower.data(), upper.data(),
                    loss.data(), row_lower.data(), row_upper.data());
    for (std::size_t column = 0; column < columns_.size(); ++column) {
        if (columns_[column].is_whole) {
            Cbc_setInteger(model.get(), static_cast<int>(column));
        }
    }
    if (is_linear) {
        Cbc_setInteger(model.get(), static_cast<int>(columns_.size()));
    }
    Cbc_setParameter(model.get(), "log", "0");
    Cbc_setParameter(model.get(), "threads", "0");
    Cbc_setParameter(model.get(), "randomCbcSeed", "1");
    // by the clock: where the machine is busy, time on a processor may take many times as long
    Cbc_setParameter(model.get(), "timeMode", "elapsed");
    Cbc_setParameter(model.get(), "seconds", std::to_string(limit.count()).c_str());
    Cbc_setParameter(model.get(), "ratioGap", std::to_string(gap).c_str());
    Cbc_solve(model.get());
    Solution made;
    made.is_impossible = Cbc_isProvenInfeasible(model.get()) != 0;
    made.bound = -Cbc_getBestPossibleObjValue(model.get());
    const double* const values = Cbc_bestSolution(model.get());
    if (values == nullptr || made.is_impossible) {
        return made;
    }
    made.columns.assign(values, values + columns_.size());
    made.value = -Cbc_getObjValue(model.get());
    made.bound = std::max(made.bound, made.value);
    if (Cbc_isProvenOptimal(model.get()) != 0 && gap <= 0) {
        made.bound = made.value;
    }
    made.is_proven = made.bound - made.value <= crumb * std::max(1.0, made.bound);
    return made;
}

}  // namespace waybourne::coverage
