#pragma once
/// From the text of a protocol file to a protocol.

#include <string_view>

#include "triage/protocol.hpp"

namespace waybourne::triage {

/// Reads a protocol file (its shape: `docs/protocol.md`). Whether its rules are sound is for
/// `protocol_check.hpp`; here every part must be there, of its type, and refer to things that
/// exist.
/// @throws InputError with every error found, each with its RFC 6901 pointer, what was given and
///         what is allowed; an unknown name comes with the nearest known one
Protocol parse_protocol(std::string_view json);

}  // namespace waybourne::triage
