#pragma once
/// Kept answers as the journal has them.

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "server/json/object_reader.hpp"
#include "server/json/writer.hpp"
#include "server/referrals/kept_answer.hpp"

namespace waybourne::server {

/// An answer without what `KeptAnswer::answer` leaves out.
JsonValue essence_of(const JsonValue& answer);

/// What every reader of the answer must know, the most important first.
std::vector<std::string> cautions_of(const KeptAnswer& kept);

/// The rules that fired and rest, in part at least, on common practice or a proposal without a
/// published source: those marked (c) or (L), or said to have none (docs/sources.md).
std::vector<std::string> rules_without_source(const KeptAnswer& kept);

/// The form of 1; a program that finds another one says that it cannot read it.
inline constexpr int kept_answer_form = 1;

void write_kept_answer(JsonWriter& json, const KeptAnswer& kept);

/// Of the body of a journal entry; none where it holds none: entries of earlier programs do not.
/// @throws InputError for a form of a later program, and for anything that was not written by
///         `write_kept_answer`
std::optional<KeptAnswer> parse_kept_answer(std::string_view body);

}  // namespace waybourne::server
