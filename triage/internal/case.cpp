#include "triage/internal/case.hpp"

#include <algorithm>
#include <set>

namespace waybourne::triage {

namespace {

/// A number of a reading that stands, and when it was taken.
struct TakenNumber {
    double value = 0;
    Instant taken_at{};
    bool operator==(const TakenNumber&) const = default;
    bool operator<(const TakenNumber& other) const {
        return value != other.value ? value < other.value : taken_at < other.taken_at;
    }
};

/// The different numbers of one part of the readings that stand. For the diastolic, of which no
/// ratio is formed, the time does not matter.
std::vector<TakenNumber> numbers_of(std::size_t part, const std::vector<CheckedReading>& readings,
                                    const StandingReadings& standing) {
    std::vector<TakenNumber> numbers;
    for (const std::size_t place : standing.places) {
        const CheckedReading& reading = readings[place];
        if (reading.accepted[part]) {
            numbers.push_back({*reading.accepted[part], part == 1 ? Instant{} : reading.taken_at});
        }
    }
    std::sort(numbers.begin(), numbers.end());
    numbers.erase(std::unique(numbers.begin(), numbers.end()), numbers.end());
    return numbers;
}

/// On which side of each cut a number lies; all that its own comparisons can tell.
std::size_t side(const ConditionTable& conditions, FieldId field, double value) {
    const auto& cuts = conditions.cuts(field);
    return static_cast<std::size_t>(std::count_if(cuts.begin(), cuts.end(), [&](const Cut& cut) {
        return cut.above ? value > cut.at : value >= cut.at;
    }));
}

/// Every combination of the numbers that stand, none twice as far as any condition can tell.
class ReadingViews {
public:
    ReadingViews(const Protocol& protocol, const Case& given, const StandingReadings& standing)
        : protocol_(protocol), given_(given), standing_(standing) {}

    std::vector<Situation> build() {
        const auto systolic = numbers_of(0, given_.readings, standing_);
        const auto diastolic = numbers_of(1, given_.readings, standing_);
        const auto pulse = numbers_of(2, given_.readings, standing_);
        for_each_or_none(systolic, [&](const TakenNumber* upper) {
            for_each_or_none(diastolic, [&](const TakenNumber* lower) {
                for_each_or_none(pulse, [&](const TakenNumber* beats) {
                    add({upper, lower, beats});
                });
            });
        });
        return std::move(views_);
    }

private:
    template <typename Visit>
    static void for_each_or_none(const std::vector<TakenNumber>& numbers, const Visit& visit) {
        if (numbers.empty()) {
            visit(nullptr);
        }
        for (const TakenNumber& number : numbers) {
            visit(&number);
        }
    }

    void add(const std::array<const TakenNumber*, 3>& numbers) {
        const auto fields = reading_fields(protocol_.reading);
        Situation view = given_.answers;
        std::vector<std::size_t> sides;
        for (std::size_t part = 0; part < 3; ++part) {
            if (numbers[part] != nullptr) {
                view.set(fields[part], numbers[part]->value);
                sides.push_back(side(protocol_.conditions, fields[part], numbers[part]->value));
            }
        }
        if (numbers[0] != nullptr && numbers[2] != nullptr) {
            const Seconds apart = numbers[0]->taken_at - numbers[2]->taken_at;
            view.set_taken_together(std::chrono::abs(apart) <= protocol_.reading.together_within);
        }
        for (std::size_t ratio = 0; ratio < protocol_.conditions.ratios().size(); ++ratio) {
            sides.push_back(ratio_side(ratio, view));
        }
        if (seen_.insert(sides).second) {
            views_.push_back(std::move(view));
        }
    }

    std::size_t ratio_side(std::size_t ratio, const Situation& view) const {
        const Ratio& of = protocol_.conditions.ratios()[ratio];
        const auto& limits = protocol_.conditions.ratio_limits(ratio);
        if (!view.is_known(of.divided)) {
            return 0;
        }
        const bool divisible = view.is_known(of.divisor) && view.taken_together();
        const double divisor =
            divisible ? std::min(view.value(of.divisor), of.divisor_at_most) : of.divisor_at_most;
        const double tenfold = 10 * view.value(of.divided);
        std::size_t passed = divisible ? 1 : 2;
        for (const double limit : limits) {
            passed = passed * 3 + (tenfold > limit * divisor ? 2 : tenfold == limit * divisor);
        }
        return passed;
    }

    const Protocol& protocol_;
    const Case& given_;
    const StandingReadings& standing_;
    std::set<std::vector<std::size_t>> seen_;
    std::vector<Situation> views_;
};

Situation read_in(const WayOfReading& way, Situation view) {
    for (const FieldId field : way.set_aside) {
        view.forget(field);
    }
    for (const auto& [field, value] : way.set) {
        view.set(field, value);
    }
    return view;
}

bool only_sets_aside(const Contradiction& contradiction) {
    return std::all_of(contradiction.either.begin(), contradiction.either.end(),
                       [](const WayOfReading& way) { return way.set.empty(); });
}

/// Where findings contradict each other: every way of reading them. What only sets values aside is
/// looked for in each way of reading the others; what says otherwise than was given, only in the
/// findings as they were given, or one would undo the other. Gives those found there.
std::vector<std::size_t> split_contradictions(const Protocol& protocol,
                                              std::vector<Situation>& views) {
    std::vector<std::size_t> found;
    const Situation as_given = views.front();
    for (std::size_t place = 0; place < protocol.contradictions.size(); ++place) {
        const Contradiction& contradiction = protocol.contradictions[place];
        const auto contradicts = [&](const Situation& view) {
            return protocol.conditions.evaluate(contradiction.when, view) == Answer::yes;
        };
        const bool is_given = contradicts(as_given);
        if (is_given) {
            found.push_back(place);
        }
        const bool anew = only_sets_aside(contradiction);
        std::vector<Situation> read;
        for (Situation& view : views) {
            if (anew ? !contradicts(view) : !is_given) {
                read.push_back(std::move(view));
                continue;
            }
            for (const WayOfReading& way : contradiction.either) {
                read.push_back(read_in(way, view));
            }
        }
        views = std::move(read);
    }
    return found;
}

/// A pressure that was accepted and counts no more was very high (`clinical.md` e.6.1).
bool was_severe(const Protocol& protocol, const std::vector<CheckedReading>& readings,
                const StandingReadings& standing) {
    for (std::size_t place = 0; place < readings.size(); ++place) {
        if (std::find(standing.places.begin(), standing.places.end(), place) !=
            standing.places.end()) {
            continue;
        }
        Situation then(protocol.fields.size());
        for (const auto& [field, number] :
             {std::pair(protocol.reading.systolic, readings[place].accepted[0]),
              std::pair(protocol.reading.diastolic, readings[place].accepted[1])}) {
            if (number) {
                then.set(field, *number);
            }
        }
        if (protocol.conditions.evaluate(protocol.reading.was_severe_when, then) == Answer::yes) {
            return true;
        }
    }
    return false;
}

void add_derived_answers(const Protocol& protocol, Situation& view) {
    for (const DerivedAnswer& answer : protocol.derived_answers) {
        if (!view.is_known(answer.field) &&
            protocol.conditions.evaluate(answer.when, view) == Answer::yes) {
            view.set(answer.field, answer.value);
        }
    }
}

}  // namespace

bool WorkedCase::holds(ConditionId condition) const {
    return std::any_of(truths.begin(), truths.end(), [&](const std::vector<Answer>& of_view) {
        return of_view[condition] == Answer::yes;
    });
}

bool WorkedCase::is_known(FieldId field) const {
    return std::all_of(views.begin(), views.end(),
                       [&](const Situation& view) { return view.is_known(field); });
}

void add_fired(const Protocol& protocol, const std::vector<Answer>& truths, FiredRules& fired) {
    for (std::size_t rule = 0; rule < fired.size(); ++rule) {
        fired[rule] |= static_cast<char>(truths[protocol.rules[rule].when] == Answer::yes);
    }
}

WorkedCase work_through(const Protocol& protocol, const Case& given) {
    WorkedCase worked;
    worked.standing = standing_readings(protocol, given.readings);
    Case taken = given;
    if (worked.standing.due == RepeatDue::not_recordable) {
        taken.answers.set(protocol.reading.not_recordable, 1);
    }
    if (was_severe(protocol, given.readings, worked.standing)) {
        taken.answers.set(protocol.reading.was_severe, 1);
    }
    worked.views = ReadingViews(protocol, taken, worked.standing).build();
    worked.contradictions = split_contradictions(protocol, worked.views);
    worked.fired.assign(protocol.rules.size(), 0);
    for (Situation& view : worked.views) {
        add_derived_answers(protocol, view);
        std::vector<Answer>& truths = worked.truths.emplace_back(protocol.conditions.size());
        protocol.conditions.evaluate_all(view, truths);
        add_fired(protocol, truths, worked.fired);
    }
    return worked;
}

}  // namespace waybourne::triage
