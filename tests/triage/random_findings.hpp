#pragma once
/// Random findings for tests of what must always hold, most of their numbers close to a limit.

#include <random>
#include <string>

#include "triage/findings.hpp"
#include "triage/internal/case.hpp"
#include "triage/protocol.hpp"

namespace waybourne::triage {

/// Draws findings that a health worker could give: every value is accepted by its own limits, and
/// anything may be missing.
class RandomFindings {
public:
    RandomFindings(const Protocol& protocol, std::uint64_t seed)
        : protocol_(protocol), random_(seed) {}

    Case draw();

    /// An accepted value of a field: for numbers mostly at a limit or one step beside it.
    double value_of(FieldId field);
    bool chance(double share) { return std::uniform_real_distribution<>(0, 1)(random_) < share; }
    std::size_t below(std::size_t end) {
        return std::uniform_int_distribution<std::size_t>(0, end - 1)(random_);
    }
    double between(double from, double to, bool whole);
    std::mt19937_64& engine() { return random_; }

private:
    const Protocol& protocol_;
    std::mt19937_64 random_;
};

/// The same findings as they are handed to `assess`.
Findings to_findings(const Protocol& protocol, const Case& given);

/// Which number of a reading a field is; none for a field outside readings.
std::optional<std::size_t> part_of_reading(const Protocol& protocol, FieldId field);

/// One known value of a case, which can be replaced or taken away. For a number of a reading it
/// stands in the reading `reading`.
class OneField {
public:
    OneField(const Protocol& protocol, const Case& given, FieldId field, std::size_t reading);
    std::optional<double> value() const;
    Case with(std::optional<double> value) const;

private:
    const Protocol& protocol_;
    const Case& given_;
    FieldId field_;
    std::optional<std::size_t> part_;
    std::size_t reading_;
};

/// The findings in one line, for the report of a failure.
std::string in_words(const Findings& findings);

}  // namespace waybourne::triage
