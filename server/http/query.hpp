#pragma once
/// What stands in the query of a request, and other numbers that a client gives back to us.

#include <optional>
#include <string>
#include <string_view>

#include "journal/envelope.hpp"
#include "server/http/endpoint.hpp"

namespace waybourne::server {

/// None when the query does not name it.
std::optional<std::string> asked_for(const HttpRequest& request, const std::string& name);

/// A place in the journal, as an answer gave it; none when it is no such number.
std::optional<journal::Sequence> find_sequence(std::string_view text);

}  // namespace waybourne::server
