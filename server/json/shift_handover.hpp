#pragma once
/// A shift's list as JSON: as it is signed and kept, and as answers show it.

#include <string>
#include <string_view>

#include "server/json/object_reader.hpp"
#include "server/json/writer.hpp"
#include "server/referrals/shift_handover.hpp"
#include "server/words.hpp"

namespace waybourne::server {

/// The one form that is signed: ids and times, no words of any language.
std::string to_stored(const ShiftList& list);

/// The body of the journal's entry.
std::string to_stored(const SignedList& made, const std::string& request_sha256);
/// @throws InputError for anything else than `to_stored` writes
SignedList parse_stored_shift(std::string_view json);

/// The list with its words in the reader's language.
void write_shift_list(JsonWriter& json, const ShiftList& list, const Words& words);

/// Who signed and who acknowledged, as members of the object that is being written.
void write_handover_members(JsonWriter& json, const ShiftHandover& handover);

/// What `write_handover_members` wrote.
ShiftHandover read_handover_members(ObjectReader& reader);

}  // namespace waybourne::server
