#pragma once
/// The findings of a text message as they come together, piece by piece.

#include <optional>
#include <set>
#include <string>

#include "server/messages/text_words.hpp"
#include "triage/findings.hpp"
#include "triage/protocol.hpp"

namespace waybourne::server {

/// A number as it stands in a text.
struct TextNumber {
    double value = 0;
    /// `1.500`: thousands, when the field takes whole numbers only.
    bool is_grouped = false;
    bool is_whole = true;
    std::optional<TimeUnit> unit = {};
    /// The token behind it and its unit.
    std::size_t end = 0;
};

/// What is said of one field twice is never taken for the safer: of two signs the one that is not
/// safer counts, of two degrees the worse, of two states of a woman the later; where none of this
/// decides, the field is left unknown.
class TextedValues {
public:
    /// @param now when readings were taken; `protocol` must outlive this
    TextedValues(const triage::Protocol& protocol, Instant now) : protocol_(protocol), now_(now) {}

    /// The protocol's field of that name, which must be there.
    const triage::Field& field(const std::string& name) const {
        return protocol_.fields[*protocol_.find_field(name)];
    }

    /// A number of this field, in any unit. False: it does not fit, or one stands there already.
    bool put_number(const std::string& name, const TextNumber& number);
    /// Of the last reading, where that has no pressure yet; otherwise of a new one.
    void put_pressure(int systolic, std::optional<int> diastolic);

    /// Only a sign that would hold: what else a word says is not known from its denial (`not
    /// alert`, `no retained placenta`).
    bool can_be_denied(const TextFact& fact) const;
    /// A sign, or one of a field's choices. @param is_denied only of what can be
    /// @return the two answers, where this contradicts what was said before and none of them counts
    std::optional<std::string> put_fact(const TextFact& fact, bool is_denied);

    /// What came together, without the fields that two answers contradict. Once, at the end.
    triage::Findings take();

private:
    triage::Reading& new_reading();
    void put_sign(const triage::Field& field, bool holds);
    std::optional<std::string> put_choice(const triage::Field& field, const std::string& choice);

    const triage::Protocol& protocol_;
    Instant now_;
    triage::Findings findings_;
    std::set<std::string> in_doubt_;
};

}  // namespace waybourne::server
