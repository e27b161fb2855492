#pragma once
/// JSON from outside, looked through before anybody builds something of it.

#include <string_view>

namespace waybourne {

/// @throws InputError for what is no JSON (with the byte), is nested deeper than 32, has a name
/// twice in one object (RFC 8259 leaves open which would count), or more than 10,000 names in one
void check_json(std::string_view text);

}  // namespace waybourne
