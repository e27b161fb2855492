#pragma once
/// Answers to danger signs, and the logic of conditions over them.

#include <cstdint>

namespace waybourne::triage {

/// The answer to one danger sign, and the truth of a condition. Unknown is never treated as no.
enum class Answer : std::uint8_t { no, unknown, yes };

/// Kleene's strong three-valued logic (Kleene, Introduction to Metamathematics, 1952, § 64), with
/// no < unknown < yes: `both` is the smaller, `either` the larger, `opposite` the mirror image.
constexpr Answer both(Answer a, Answer b) {
    return a < b ? a : b;
}
constexpr Answer either(Answer a, Answer b) {
    return a < b ? b : a;
}
constexpr Answer opposite(Answer a) {
    return static_cast<Answer>(2 - static_cast<int>(a));
}
constexpr Answer to_answer(bool known) {
    return known ? Answer::yes : Answer::no;
}

}  // namespace waybourne::triage
