#include "triage/internal/explain.hpp"

#include <algorithm>
#include <cmath>

namespace waybourne::triage {

namespace {

using Kind = Condition::Kind;

class Explanation {
public:
    Explanation(const Protocol& protocol, const Situation& view, const std::vector<Answer>& truths)
        : protocol_(protocol), view_(view), truths_(truths) {}

    /// Follows the parts that hold down to what was found.
    void explain(ConditionId id) {
        const Condition& condition = protocol_.conditions.condition(id);
        switch (condition.kind) {
            case Kind::all:
            case Kind::any:
            case Kind::sure:
                for (const ConditionId part : condition.parts) {
                    if (truths_[part] == Answer::yes) {
                        explain(part);
                    }
                }
                return;
            case Kind::unanswered:
                add({"triage.fact." + term_name(condition.parts.front()) + ".unknown"});
                return;
            case Kind::unanswered_field:
                add({"triage.fact." + protocol_.fields[condition.field].name + ".unknown"});
                return;
            case Kind::one_of:
                add_choice(protocol_.fields[condition.field], condition.field);
                return;
            case Kind::number_in:
                add_number(protocol_.fields[condition.field].name,
                           to_words(view_.value(condition.field)), condition.range, 1);
                return;
            case Kind::ratio_in:
                add_ratio(condition);
                return;
            case Kind::opposite:
            case Kind::unless_sure:
                return;  // what was not found is no fact
        }
    }

    std::vector<Message> facts() && { return std::move(facts_); }

private:
    void add(Message fact) {
        if (std::find(facts_.begin(), facts_.end(), fact) == facts_.end()) {
            facts_.push_back(std::move(fact));
        }
    }

    std::string term_name(ConditionId id) const {
        const auto term = std::find_if(protocol_.terms.begin(), protocol_.terms.end(),
                                       [&](const Term& t) { return t.when == id; });
        return term == protocol_.terms.end() ? std::string("condition") : term->name;
    }

    void add_choice(const Field& field, FieldId id) {
        const auto choice = static_cast<std::size_t>(view_.value(id));
        add({"triage.fact." + field.name + "." + field.choices[choice]});
    }

    void add_number(const std::string& name, const std::string& value, const Range& range,
                    double divide_by) {
        const double limit = (range.from ? range.from->value : range.to->value) / divide_by;
        add({"triage.fact." + name, {{"value", value}, {"limit", to_words(limit)}}});
    }

    /// The divisor counts as in the comparison; without one the ratio is at least as large as
    /// shown.
    void add_ratio(const Condition& condition) {
        const Ratio& ratio = protocol_.conditions.ratios()[condition.field];
        const double divisor = view_.is_known(ratio.divisor)
                                   ? std::min(view_.value(ratio.divisor), ratio.divisor_at_most)
                                   : ratio.divisor_at_most;
        const double hundredths = std::floor(100 * view_.value(ratio.divided) / divisor);
        add_number(ratio.name, to_words(hundredths / 100), condition.range, 10);
    }

    const Protocol& protocol_;
    const Situation& view_;
    const std::vector<Answer>& truths_;
    std::vector<Message> facts_;
};

}  // namespace

std::vector<Message> facts_for(const Protocol& protocol, const Rule& rule,
                               const WorkedCase& worked) {
    for (std::size_t view = 0; view < worked.views.size(); ++view) {
        if (worked.truths[view][rule.when] == Answer::yes) {
            Explanation explanation(protocol, worked.views[view], worked.truths[view]);
            explanation.explain(rule.when);
            return std::move(explanation).facts();
        }
    }
    return {};
}

}  // namespace waybourne::triage
