#include "triage/question.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <tuple>

namespace waybourne::triage {

namespace {

bool contains(const std::vector<FieldId>& fields, FieldId field) {
    return std::find(fields.begin(), fields.end(), field) != fields.end();
}

bool is_answered(const Protocol& protocol, const Case& given, const WorkedCase& worked,
                 FieldId field) {
    return protocol.fields[field].of_reading == ReadingPart::none ? given.answers.is_known(field)
                                                                  : worked.is_known(field);
}

bool may_ask(const Protocol& protocol, const WorkedCase& worked, FieldId field) {
    const auto& not_asked_when = protocol.fields[field].not_asked_when;
    return !not_asked_when || !worked.holds(*not_asked_when);
}

/// The first accepted value beyond a cut.
double beyond(const Cut& cut, bool whole) {
    if (whole) {
        return cut.above ? std::floor(cut.at) + 1 : std::ceil(cut.at);
    }
    return cut.above ? std::nextafter(cut.at, std::numeric_limits<double>::infinity()) : cut.at;
}

/// Where the truth of anything changes for one number of a reading, the others being as they are.
class ReadingCuts {
public:
    ReadingCuts(const Protocol& protocol, const std::vector<CheckedReading>& readings)
        : protocol_(protocol), readings_(readings) {}

    std::vector<Cut> of(FieldId field) {
        const ReadingRules& rules = protocol_.reading;
        const double low = rules.low_systolic;
        if (field == rules.systolic) {
            cut(low);
            for (const double diastolic : given(1)) {
                cut(diastolic + rules.least_gap);
                cut(diastolic - rules.confirm_gap.from);
            }
        } else if (field == rules.diastolic) {
            cut(low);
            for (const double systolic : given(0)) {
                cut(systolic - rules.least_gap);
                cut(systolic + rules.confirm_gap.from);
            }
        }
        for (std::size_t ratio = 0; ratio < protocol_.conditions.ratios().size(); ++ratio) {
            cut_ratio(ratio, field);
        }
        return std::move(cuts_);
    }

private:
    std::vector<double> given(std::size_t part) const {
        std::vector<double> numbers;
        for (const CheckedReading& reading : readings_) {
            if (reading.given[part]) {
                numbers.push_back(*reading.given[part]);
            }
        }
        return numbers;
    }

    /// Both at the value and just above it: which of the two matters depends on the comparison.
    void cut(double at) {
        cuts_.push_back({at, false});
        cuts_.push_back({at, true});
    }

    void cut_ratio(std::size_t ratio, FieldId field) {
        const Ratio& of = protocol_.conditions.ratios()[ratio];
        const auto fields = reading_fields(protocol_.reading);
        for (const double limit : protocol_.conditions.ratio_limits(ratio)) {
            if (field == of.divided) {
                cut(limit * of.divisor_at_most / 10);
            }
            for (std::size_t part = 0; part < 3; ++part) {
                for (const double number : given(part)) {
                    if (field == of.divided && fields[part] == of.divisor) {
                        cut(limit * std::min(number, of.divisor_at_most) / 10);
                    } else if (field == of.divisor && fields[part] == of.divided && limit > 0) {
                        cut(10 * number / limit);
                    }
                }
            }
        }
    }

    const Protocol& protocol_;
    const std::vector<CheckedReading>& readings_;
    std::vector<Cut> cuts_;
};

/// Tries answers and gathers what they would change.
class Trial {
public:
    Trial(const Protocol& protocol, const Case& given, const WorkedCase& worked, Instant now)
        : protocol_(protocol),
          given_(given),
          worked_(worked),
          now_(now),
          limit_(shortest_limit(protocol, worked.fired)) {
        for (const WantedCare& care : combine_choices(protocol, worked.fired)) {
            needs_.insert(care.any_of.mask());
        }
        note_entangled();
    }

    void start() {
        added_.clear();
        shortened_.reset();
        adds_critical_ = false;
    }

    void try_all(FieldId field) {
        for (const double value : possible_answers(protocol_, field, given_.readings)) {
            try_answer(field, value);
        }
    }

    void try_answer(FieldId field, double value) {
        note(entangled_[field]
                 ? work_through(protocol_, with_answer(protocol_, given_, field, value, now_)).fired
                 : fired_with(field, value));
    }

    /// Answers "no" to all of them together.
    void try_none_of(const std::vector<FieldId>& fields) {
        Case answered = given_;
        for (const FieldId field : fields) {
            answered.answers.set(field, 0);
        }
        note(work_through(protocol_, answered).fired);
    }

    std::optional<Could> could() const {
        if (added_.empty() && !shortened_) {
            return std::nullopt;
        }
        Could could{{}, shortened_};
        for (const std::uint64_t mask : added_) {
            could.add.push_back(CapabilitySet::from_mask(mask));
        }
        return could;
    }

    bool adds_critical() const { return adds_critical_; }

private:
    /// Fields whose answer does more than change its own value: the views must be built anew.
    void note_entangled() {
        entangled_.assign(protocol_.fields.size(), false);
        const auto entangle = [&](const std::vector<FieldId>& fields) {
            for (const FieldId field : fields) {
                entangled_[field] = true;
            }
        };
        const auto reading = reading_fields(protocol_.reading);
        entangle({reading.begin(), reading.end()});
        for (const DerivedAnswer& answer : protocol_.derived_answers) {
            entangle({answer.field});
            entangle(protocol_.conditions.fields_of(answer.when));
        }
        for (const Contradiction& contradiction : protocol_.contradictions) {
            entangle(protocol_.conditions.fields_of(contradiction.when));
            for (const WayOfReading& way : contradiction.either) {
                entangle(way.set_aside);
                for (const auto& [field, value] : way.set) {
                    entangled_[field] = true;
                }
            }
        }
        entangled_[protocol_.reading.not_recordable] = true;
        entangled_[protocol_.reading.was_severe] = true;
    }

    const FiredRules& fired_with(FieldId field, double value) {
        fired_.assign(worked_.fired.size(), 0);
        for (std::size_t view = 0; view < worked_.views.size(); ++view) {
            situation_ = worked_.views[view];
            situation_.set(field, value);
            truths_ = worked_.truths[view];
            protocol_.conditions.evaluate_again(field, situation_, truths_);
            add_fired(protocol_, truths_, fired_);
        }
        return fired_;
    }

    void note(const FiredRules& fired) {
        if (fired == worked_.fired) {
            return;
        }
        const auto limit = shortest_limit(protocol_, fired);
        if (limit && (!limit_ || *limit < *limit_) && (!shortened_ || *limit < *shortened_)) {
            shortened_ = limit;
        }
        for (const WantedCare& care : combine_choices(protocol_, fired)) {
            if (!needs_.contains(care.any_of.mask())) {
                added_.insert(care.any_of.mask());
                adds_critical_ |= care.critical;
            }
        }
    }

    const Protocol& protocol_;
    const Case& given_;
    const WorkedCase& worked_;
    Instant now_;
    std::set<std::uint64_t> needs_;
    std::optional<Seconds> limit_;
    std::vector<bool> entangled_;

    std::set<std::uint64_t> added_;
    std::optional<Seconds> shortened_;
    bool adds_critical_ = false;

    // Kept between answers to save their memory being asked for again.
    Situation situation_{0};
    std::vector<Answer> truths_;
    FiredRules fired_;
};

/// A question and what puts it before others.
struct Ranked {
    Question question;
    bool was_refused = false;
    bool adds_critical = false;

    auto rank() const {
        return std::tuple(
            !was_refused, !question.could.has_value(),
            question.could ? question.could->shorten_to.value_or(Seconds::max()) : Seconds::max(),
            !adds_critical);
    }
};

}  // namespace

std::vector<FieldId> fields_to_ask(const Protocol& protocol, const Case& given,
                                   const WorkedCase& worked, const std::vector<FieldId>& refused) {
    std::vector<FieldId> asked = refused;
    const auto ask_unanswered = [&](const std::vector<FieldId>& fields) {
        for (const FieldId field : fields) {
            if (!contains(asked, field) && !is_answered(protocol, given, worked, field) &&
                may_ask(protocol, worked, field)) {
                asked.push_back(field);
            }
        }
    };
    for (const std::size_t rule : protocol.rules_by_time) {
        if (worked.fired[rule] != 0) {
            ask_unanswered(protocol.rules[rule].ask);
        }
    }
    ask_unanswered(protocol.always_ask);
    return asked;
}

std::vector<double> possible_answers(const Protocol& protocol, FieldId id,
                                     const std::vector<CheckedReading>& readings) {
    const Field& field = protocol.fields[id];
    std::vector<double> values;
    if (field.type == FieldType::sign || field.type == FieldType::choice) {
        for (std::size_t choice = 0; choice < field.choices.size(); ++choice) {
            values.push_back(static_cast<double>(choice));
        }
        return values;
    }
    std::vector<Cut> cuts = protocol.conditions.cuts(id);
    if (field.of_reading != ReadingPart::none) {
        const auto more = ReadingCuts(protocol, readings).of(id);
        cuts.insert(cuts.end(), more.begin(), more.end());
    }
    values.push_back(field.whole ? std::ceil(field.accept.from) : field.accept.from);
    for (const Cut& cut : cuts) {
        const double value = beyond(cut, field.whole);
        if (field.accept.contains(value)) {
            values.push_back(value);
        }
    }
    std::sort(values.begin(), values.end());
    values.erase(std::unique(values.begin(), values.end()), values.end());
    return values;
}

Case with_answer(const Protocol& protocol, const Case& given, FieldId field, double value,
                 Instant now) {
    Case answered = given;
    const auto fields = reading_fields(protocol.reading);
    const auto place = std::find(fields.begin(), fields.end(), field);
    if (place == fields.end()) {
        answered.answers.set(field, value);
        return answered;
    }
    const auto part = static_cast<std::size_t>(place - fields.begin());
    const auto newest =
        std::max_element(answered.readings.begin(), answered.readings.end(),
                         [](const CheckedReading& a, const CheckedReading& b) {
                             return std::tie(a.taken_at, a.given) < std::tie(b.taken_at, b.given);
                         });
    if (newest != answered.readings.end() && !newest->given[part]) {
        ReadingNumbers numbers = newest->given;
        numbers[part] = value;
        *newest = check_reading(protocol, newest->taken_at, numbers);
    } else {
        ReadingNumbers numbers;
        numbers[part] = value;
        answered.readings.push_back(check_reading(protocol, now, numbers));
    }
    return answered;
}

std::vector<Question> questions_about(const Protocol& protocol, const Case& given,
                                      const WorkedCase& worked, const std::vector<FieldId>& asked,
                                      const std::vector<FieldId>& refused, Instant now) {
    Trial trial(protocol, given, worked, now);
    std::vector<Ranked> ranked;
    for (const FieldId field : asked) {
        trial.start();
        trial.try_all(field);
        const Field& about = protocol.fields[field];
        ranked.push_back({{{about.name}, {about.question}, trial.could()},
                          contains(refused, field),
                          trial.adds_critical()});
    }
    std::vector<FieldId> danger;
    for (FieldId field = 0; field < protocol.fields.size(); ++field) {
        if (protocol.fields[field].danger && !contains(asked, field) &&
            !given.answers.is_known(field) && may_ask(protocol, worked, field)) {
            danger.push_back(field);
        }
    }
    if (!danger.empty()) {
        trial.start();
        trial.try_none_of(danger);
        Question grouped{{}, {protocol.danger_question}, std::nullopt};
        for (const FieldId field : danger) {
            trial.try_answer(field, 1);
            grouped.fields.push_back(protocol.fields[field].name);
        }
        grouped.could = trial.could();
        ranked.push_back({std::move(grouped), false, trial.adds_critical()});
    }
    std::stable_sort(ranked.begin(), ranked.end(),
                     [](const Ranked& a, const Ranked& b) { return a.rank() < b.rank(); });
    std::vector<Question> questions;
    questions.reserve(ranked.size());
    for (Ranked& one : ranked) {
        questions.push_back(std::move(one.question));
    }
    return questions;
}

}  // namespace waybourne::triage
