#include "triage/internal/finding_space.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <set>
#include <string>
#include <tuple>

#include "vocabulary/error.hpp"

namespace waybourne::triage {

namespace {

constexpr double not_answered = std::numeric_limits<double>::quiet_NaN();
/// More combinations than this in one dimension are refused (a ratio of two ordinary fields has
/// about 100,000).
constexpr std::size_t most_combinations = 4'000'000;

bool is_number(const Field& field) {
    return field.type == FieldType::number || field.type == FieldType::step;
}

/// The numbers at which anything about the field changes.
std::vector<double> landmarks(const Protocol& protocol, FieldId id) {
    const Field& field = protocol.fields[id];
    std::set<double> marks{field.accept.from, field.accept.to};
    for (const Cut& cut : protocol.conditions.cuts(id)) {
        marks.insert(cut.at);
    }
    for (const auto& mark : {field.worse.up_from, field.worse.down_from}) {
        if (mark) {
            marks.insert(*mark);
        }
    }
    if (field.safer) {
        marks.insert({field.safer->from, field.safer->to});
    }
    std::vector<double> inside;
    std::copy_if(marks.begin(), marks.end(), std::back_inserter(inside),
                 [&](double mark) { return field.accept.contains(mark); });
    return inside;
}

/// Which digits of a field follow a digit, and in which kind of step.
std::vector<std::pair<std::size_t, Step::Kind>> digits_after(const Field& field,
                                                             const std::vector<double>& values,
                                                             std::size_t digit) {
    std::vector<std::pair<std::size_t, Step::Kind>> after;
    const auto digit_of = [&](double value) {
        return static_cast<std::size_t>(std::find(values.begin(), values.end(), value) -
                                        values.begin()) +
               1;
    };
    const auto chains = worse_chains(field);
    if (digit == 0) {
        for (const auto& chain : chains) {
            if (field.type == FieldType::sign) {
                after.emplace_back(digit_of(chain.back()), Step::Kind::sign_added);
            }
        }
        return after;
    }
    const double value = values[digit - 1];
    if (field.safer && field.safer->contains(value)) {
        after.emplace_back(0, Step::Kind::less_known);
    }
    if (field.worse.up_from && value >= *field.worse.up_from && digit < values.size()) {
        after.emplace_back(digit + 1, Step::Kind::worse);
    }
    if (field.worse.down_from && value <= *field.worse.down_from && digit > 1) {
        after.emplace_back(digit - 1, Step::Kind::worse);
    }
    for (const auto& chain : chains) {
        const auto place = std::find(chain.begin(), chain.end(), value);
        if (place != chain.end() && std::next(place) != chain.end()) {
            after.emplace_back(digit_of(*std::next(place)), Step::Kind::worse);
        }
    }
    return after;
}

}  // namespace

/// All combinations of the values of a dimension's fields, numbered: digit 0 of a field is "not
/// answered", digit n its n-th value; the lowest digit says whether they were not taken together.
class FindingSpace::Combinations {
public:
    Combinations(const Protocol& protocol, const Dimension& dimension, bool tied)
        : timings_(tied ? 2 : 1) {
        for (const FieldId field : dimension.fields) {
            values_.push_back(standing_values(protocol, field));
            weights_.push_back(size_);
            size_ *= values_.back().size() + 1;
            if (size_ > most_combinations) {
                throw InputError("the fields tied to " + protocol.fields[field].name +
                                 " by ratios have too many combinations to try them all");
            }
        }
    }

    std::size_t size() const { return size_ * timings_; }
    std::size_t digit(std::size_t number, std::size_t field) const {
        return number / timings_ / weights_[field] % (values_[field].size() + 1);
    }
    /// The same combination with another digit for one field.
    std::size_t with(std::size_t number, std::size_t field, std::size_t digit_after) const {
        const std::size_t weight = weights_[field] * timings_;
        return number - digit(number, field) * weight + digit_after * weight;
    }
    double value(std::size_t field, std::size_t digit) const {
        return digit == 0 ? not_answered : values_[field][digit - 1];
    }
    const std::vector<double>& values(std::size_t field) const { return values_[field]; }
    Tuple tuple(std::size_t number) const {
        Tuple tuple{{}, number % timings_ == 0};
        for (std::size_t field = 0; field < values_.size(); ++field) {
            tuple.values.push_back(value(field, digit(number, field)));
        }
        return tuple;
    }

private:
    std::size_t timings_;
    std::size_t size_ = 1;
    std::vector<std::vector<double>> values_;
    std::vector<std::size_t> weights_;
};

std::vector<double> standing_values(const Protocol& protocol, FieldId id) {
    const Field& field = protocol.fields[id];
    std::vector<double> values;
    if (!is_number(field)) {
        values.resize(field.choices.size());
        std::iota(values.begin(), values.end(), 0.0);
    } else if (field.whole || field.type == FieldType::step) {
        const double first = std::ceil(field.accept.from);
        const double last = std::floor(field.accept.to);
        values.resize(static_cast<std::size_t>(std::max(0.0, last - first + 1)));
        std::iota(values.begin(), values.end(), first);
    } else {
        for (const double mark : landmarks(protocol, id)) {
            if (!values.empty()) {
                values.push_back(std::midpoint(values.back(), mark));
            }
            values.push_back(mark);
        }
    }
    return values;
}

std::vector<std::vector<double>> worse_chains(const Field& field) {
    if (!field.worse.chains.empty() || !field.ordered) {
        return field.worse.chains;
    }
    std::vector<double> chain(field.choices.size());
    std::iota(chain.begin(), chain.end(), 0.0);
    return {chain};
}

std::vector<double> worst_values(const Field& field) {
    std::vector<double> worst;
    if (field.worse.up_from) {
        worst.push_back(field.accept.to);
    }
    if (field.worse.down_from) {
        worst.push_back(field.accept.from);
    }
    for (const auto& chain : worse_chains(field)) {
        worst.push_back(chain.back());
    }
    return worst;
}

bool FindingSpace::is_leaf(const Condition& condition) {
    using Kind = Condition::Kind;
    return condition.kind == Kind::unanswered_field || condition.kind == Kind::one_of ||
           condition.kind == Kind::number_in || condition.kind == Kind::ratio_in;
}

FindingSpace::FindingSpace(const Protocol& protocol) : at_worst_(protocol.fields.size()) {
    tie_fields(protocol);
    find_leaves(protocol);
    for (std::size_t dimension = 0; dimension < dimensions_.size(); ++dimension) {
        fill(protocol, dimension);
    }
}

void FindingSpace::tie_fields(const Protocol& protocol) {
    // Each field starts alone; each ratio joins the groups of its two fields.
    std::vector<std::size_t> group(protocol.fields.size());
    std::iota(group.begin(), group.end(), std::size_t{0});
    for (const Ratio& ratio : protocol.conditions.ratios()) {
        const std::size_t kept = group[ratio.divided];
        const std::size_t joined = group[ratio.divisor];
        std::replace(group.begin(), group.end(), joined, kept);
    }
    std::map<std::size_t, std::size_t> places;
    for (FieldId field = 0; field < group.size(); ++field) {
        const auto [place, is_new] = places.emplace(group[field], dimensions_.size());
        if (is_new) {
            dimensions_.emplace_back();
        }
        dimensions_[place->second].fields.push_back(field);
        dimension_of_.push_back(place->second);
    }
}

void FindingSpace::find_leaves(const Protocol& protocol) {
    const ConditionTable& table = protocol.conditions;
    leaf_places_.resize(table.size());
    for (ConditionId id = 0; id < table.size(); ++id) {
        const Condition& condition = table.condition(id);
        if (is_leaf(condition)) {
            const std::size_t dimension = dimension_of_[table.fields_of(id).front()];
            leaf_places_[id] = {dimension, dimensions_[dimension].leaves.size()};
            dimensions_[dimension].leaves.push_back(id);
        }
    }
}

void FindingSpace::fill(const Protocol& protocol, std::size_t place) {
    Dimension& dimension = dimensions_[place];
    const Combinations all(protocol, dimension, dimension.fields.size() > 1);
    const std::vector<std::size_t> cell_of = find_cells(protocol, dimension, all);
    find_steps(protocol, place, all, cell_of);
    find_worst(protocol, place, all, cell_of);
}

std::vector<std::size_t> FindingSpace::find_cells(const Protocol& protocol, Dimension& dimension,
                                                  const Combinations& all) const {
    std::map<std::vector<Answer>, std::size_t> cells;
    std::vector<std::size_t> cell_of(all.size());
    Situation situation(protocol.fields.size());
    for (std::size_t number = 0; number < all.size(); ++number) {
        const Tuple tuple = all.tuple(number);
        situation.set_taken_together(tuple.taken_together);
        for (std::size_t field = 0; field < dimension.fields.size(); ++field) {
            situation.set(dimension.fields[field], tuple.values[field]);
        }
        std::vector<Answer> truths;
        for (const ConditionId leaf : dimension.leaves) {
            truths.push_back(protocol.conditions.evaluate(leaf, situation));
        }
        const auto [cell, is_new] = cells.emplace(std::move(truths), dimension.cells.size());
        if (is_new) {
            dimension.cells.push_back(tuple);
            dimension.truths.push_back(cell->first);
        }
        cell_of[number] = cell->second;
    }
    return cell_of;
}

void FindingSpace::find_steps(const Protocol& protocol, std::size_t place, const Combinations& all,
                              const std::vector<std::size_t>& cell_of) {
    const std::vector<FieldId>& fields = dimensions_[place].fields;
    std::set<std::tuple<std::size_t, std::size_t, std::size_t, Step::Kind>> seen;
    for (std::size_t number = 0; number < all.size(); ++number) {
        for (std::size_t field = 0; field < fields.size(); ++field) {
            for (const auto& [digit, kind] : digits_after(
                     protocol.fields[fields[field]], all.values(field), all.digit(number, field))) {
                const std::size_t next = all.with(number, field, digit);
                const std::size_t from = cell_of[number];
                const std::size_t to = cell_of[next];
                if (from != to && seen.emplace(from, to, field, kind).second) {
                    steps_.push_back(
                        {kind, fields[field], place, from, to, all.tuple(number), all.tuple(next)});
                }
            }
        }
    }
}

void FindingSpace::find_worst(const Protocol& protocol, std::size_t place, const Combinations& all,
                              const std::vector<std::size_t>& cell_of) {
    const std::vector<FieldId>& fields = dimensions_[place].fields;
    for (std::size_t field = 0; field < fields.size(); ++field) {
        const std::vector<double> worst = worst_values(protocol.fields[fields[field]]);
        std::set<std::pair<double, std::size_t>> seen;
        for (std::size_t number = 0; number < all.size(); ++number) {
            const double value = all.value(field, all.digit(number, field));
            if (std::find(worst.begin(), worst.end(), value) != worst.end() &&
                seen.emplace(value, cell_of[number]).second) {
                const Tuple tuple = all.tuple(number);
                at_worst_[fields[field]].push_back({Step::Kind::worse, fields[field], place,
                                                    cell_of[number], cell_of[number], tuple,
                                                    tuple});
            }
        }
    }
}

}  // namespace waybourne::triage
