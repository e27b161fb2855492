// What must hold for every woman, tried on random findings. Source of each property:
// clinical specification of the project, e.6, e.7 and COM-1 to COM-6 (common practice, no source).
#include <doctest/doctest.h>

#include <algorithm>
#include <iostream>

#include "tests/support/sanitized.hpp"
#include "tests/triage/random_findings.hpp"
#include "tests/triage/support.hpp"
#include "triage/internal/case.hpp"

namespace waybourne::triage {
namespace {

constexpr std::uint64_t seed = 20260304;
constexpr int draws = tests::is_sanitized ? 10'000 : 100'000;

/// What a case comes to, without the words.
struct Outcome {
    explicit Outcome(const Case& given) {
        const Protocol& protocol = shipped_protocol();
        const WorkedCase worked = work_through(protocol, given);
        needs = combine_choices(protocol, worked.fired);
        within = shortest_limit(protocol, worked.fired);
        contradictions = worked.contradictions.size();
        for (std::size_t rule = 0; rule < worked.fired.size(); ++rule) {
            leave_now |= worked.fired[rule] != 0 && protocol.rules[rule].leave_now;
        }
    }
    std::vector<WantedCare> needs;
    std::optional<Seconds> within;
    std::size_t contradictions = 0;
    bool leave_now = false;
    bool operator==(const Outcome&) const = default;
};

/// Each choice of the milder one contains some choice of the worse one; care begins no later;
/// "leave now" never turns from yes to no.
bool is_at_least(const Outcome& worse, const Outcome& milder) {
    const bool needs =
        std::all_of(milder.needs.begin(), milder.needs.end(), [&](const WantedCare& need) {
            return std::any_of(
                worse.needs.begin(), worse.needs.end(),
                [&](const WantedCare& other) { return need.any_of.contains_all(other.any_of); });
        });
    const bool time = !milder.within || (worse.within && *worse.within <= *milder.within);
    return needs && time && (worse.leave_now || !milder.leave_now);
}

/// Some number was refused: the two pressures do not go together.
bool has_refused(const Case& given) {
    return std::any_of(given.readings.begin(), given.readings.end(), [](const auto& reading) {
        return std::any_of(reading.doubts.begin(), reading.doubts.end(), is_refused);
    });
}

/// A worse value of a field, by the protocol's own account of what is worse.
std::optional<double> worse_than(RandomFindings& random, const Field& field, double value) {
    const Worsens& worse = field.worse;
    const double step = field.whole ? 1 : 0.1;
    const bool up = worse.up_from && value >= *worse.up_from && value < field.accept.to;
    const bool down = worse.down_from && value <= *worse.down_from && value > field.accept.from;
    if (up && (!down || random.chance(0.5))) {
        return random.between(std::min(value + step, field.accept.to), field.accept.to,
                              field.whole);
    }
    if (down) {
        return random.between(field.accept.from, std::max(value - step, field.accept.from),
                              field.whole);
    }
    std::vector<double> choices;
    for (const auto& chain : worse.chains) {
        const auto place = std::find(chain.begin(), chain.end(), value);
        if (place != chain.end()) {
            choices.insert(choices.end(), place + 1, chain.end());
        }
    }
    return choices.empty() ? std::nullopt : std::optional(choices[random.below(choices.size())]);
}

/// A known field of the case, drawn at random until `make` gives a pair to compare.
template <typename Make>
void compare_pairs(std::uint64_t with_seed, const Make& make) {
    std::cout << "seed " << with_seed << '\n';
    RandomFindings random(shipped_protocol(), with_seed);
    int compared = 0;
    while (compared < draws) {
        const Case given = random.draw();
        const FieldId id = random.below(shipped_protocol().fields.size());
        const std::size_t reading =
            given.readings.empty() ? 0 : random.below(given.readings.size());
        const OneField one(shipped_protocol(), given, id, reading);
        const auto value = one.value();
        if (value && make(random, one, id, *value)) {
            ++compared;
        }
    }
    CHECK(compared == draws);
}

void report(const Case& given, FieldId id, double value, bool holds) {
    if (!holds) {
        const std::string words = in_words(to_findings(shipped_protocol(), given));
        const std::string field = shipped_protocol().fields[id].name;
        CAPTURE(words);
        CAPTURE(field);
        CAPTURE(value);
        CHECK(holds);
    }
}

TEST_CASE("A worse reading or an added danger sign never brings fewer needs or a later time") {
    // Source: e.7, no exception.
    compare_pairs(seed, [](RandomFindings& random, const OneField& one, FieldId id, double value) {
        const auto worse = worse_than(random, shipped_protocol().fields[id], value);
        const Case milder = one.with(value);
        const Case changed = one.with(worse);
        if (!worse || has_refused(milder) || has_refused(changed)) {
            return false;
        }
        report(milder, id, *worse, is_at_least(Outcome(changed), Outcome(milder)));
        return true;
    });
}

TEST_CASE(
    "Leaving a question open never brings fewer needs or a later time than its safer answer") {
    // Source: COM-6. An answer that contradicts the others is not a safer one and is left out.
    compare_pairs(seed + 1, [](RandomFindings& random, const OneField& one, FieldId id, double) {
        const Field& field = shipped_protocol().fields[id];
        if (!field.safer) {
            return false;
        }
        const double safer = random.between(field.safer->from, field.safer->to, field.whole);
        const Case answered = one.with(safer);
        const Case open = one.with(std::nullopt);
        if (has_refused(answered) || has_refused(open)) {
            return false;
        }
        const Outcome of_answered(answered);
        const Outcome of_open(open);
        if (of_answered.contradictions != of_open.contradictions) {
            return false;
        }
        report(answered, id, safer, is_at_least(of_open, of_answered));
        return true;
    });
}

TEST_CASE("Every field but the status says which answer is the safer one") {
    for (const Field& field : shipped_protocol().fields) {
        CAPTURE(field.name);
        CHECK((field.safer.has_value() || field.name == "status"));
    }
}

TEST_CASE("Every need comes with the time by which its care must begin") {
    std::cout << "seed " << seed + 2 << '\n';
    RandomFindings random(shipped_protocol(), seed + 2);
    int without = 0;
    for (int draw = 0; draw < draws; ++draw) {
        const WorkedCase worked = work_through(shipped_protocol(), random.draw());
        const auto shortest = shortest_limit(shipped_protocol(), worked.fired);
        for (const CombinedNeed& need : combine_needs(shipped_protocol(), worked.fired)) {
            without += !need.within || *need.within < *shortest || need.rules.empty();
        }
    }
    CHECK(without == 0);
}

TEST_CASE("The order in which things were written down does not matter") {
    std::cout << "seed " << seed + 3 << '\n';
    RandomFindings random(shipped_protocol(), seed + 3);
    constexpr int whole_answers = 1'000;
    for (int draw = 0; draw < draws; ++draw) {
        Case given = random.draw();
        const Findings findings = to_findings(shipped_protocol(), given);
        const Outcome first(given);
        std::shuffle(given.readings.begin(), given.readings.end(), random.engine());
        bool same = first == Outcome(given);
        if (draw < whole_answers) {
            same =
                same && assessed(findings, Questions::work_out) ==
                            assessed(to_findings(shipped_protocol(), given), Questions::work_out);
        }
        report(given, 0, draw, same);
    }
}

TEST_CASE("The whole answer says what the rules come to, and its needs carry their moments") {
    RandomFindings random(shipped_protocol(), seed + 4);
    for (int draw = 0; draw < 2'000; ++draw) {
        const Case given = random.draw();
        const Assessment assessment = assessed(to_findings(shipped_protocol(), given));
        const Outcome outcome(given);
        bool same = assessment.within == outcome.within &&
                    assessment.needs.size() == outcome.needs.size() &&
                    assessment.refer == !outcome.needs.empty() &&
                    assessment.leave_now == outcome.leave_now;
        for (const Need& need : assessment.needs) {
            same = same && need.deadline == test_now + *need.within && !need.for_rules.empty() &&
                   std::find(outcome.needs.begin(), outcome.needs.end(),
                             WantedCare{need.any_of, need.critical}) != outcome.needs.end();
        }
        report(given, 0, draw, same);
    }
}

}  // namespace
}  // namespace waybourne::triage
