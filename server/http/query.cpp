#include "server/http/query.hpp"

namespace waybourne::server {

std::optional<std::string> asked_for(const HttpRequest& request, const std::string& name) {
    const auto found = request.query.find(name);
    return found == request.query.end() ? std::nullopt : std::optional(found->second);
}

std::optional<journal::Sequence> find_sequence(std::string_view text) {
    constexpr std::size_t most_digits = 18;
    if (text.empty() || text.size() > most_digits ||
        text.find_first_not_of("0123456789") != std::string_view::npos) {
        return std::nullopt;
    }
    return std::stoll(std::string{text});
}

}  // namespace waybourne::server
