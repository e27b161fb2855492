#include "server/languages.hpp"

#include <algorithm>
#include <optional>
#include <string>

#include "vocabulary/small_letters.hpp"

namespace waybourne::server {

namespace {

std::string_view trimmed(std::string_view text) {
    const std::size_t from = text.find_first_not_of(" \t");
    return from == std::string_view::npos
               ? std::string_view{}
               : text.substr(from, text.find_last_not_of(" \t") - from + 1);
}

/// What stands before the first separator; `rest` loses it.
std::string_view take_until(std::string_view& rest, char separator) {
    const std::size_t end = std::min(rest.find(separator), rest.size());
    const std::string_view part = rest.substr(0, end);
    rest.remove_prefix(std::min(end + 1, rest.size()));
    return trimmed(part);
}

/// In thousandths; none for what is no weight (`q=0.8`; RFC 9110, section 12.4.2).
std::optional<int> weight_of(std::string_view parameters) {
    constexpr int whole = 1000;
    if (parameters.empty()) {
        return whole;
    }
    constexpr std::size_t longest = 7;  // q=0.123
    if (parameters.size() < 3 || parameters.size() > longest ||
        (parameters[0] != 'q' && parameters[0] != 'Q') || parameters[1] != '=' ||
        (parameters[2] != '0' && parameters[2] != '1') ||
        (parameters.size() > 3 && parameters[3] != '.')) {
        return std::nullopt;
    }
    int weight = parameters[2] == '1' ? whole : 0;
    int digit_weight = whole / 10;
    for (const char digit : parameters.substr(std::min<std::size_t>(4, parameters.size()))) {
        if (digit < '0' || digit > '9') {
            return std::nullopt;
        }
        weight += (digit - '0') * digit_weight;
        digit_weight /= 10;
    }
    return weight > whole ? std::nullopt : std::optional(weight);
}

const Catalogue* find_catalogue(const Snapshot& snapshot, std::string_view tag) {
    const std::string language = small_letters(tag.substr(0, tag.find('-')));
    if (language == "*" || language == snapshot.catalogue.language()) {
        return &snapshot.catalogue;
    }
    const auto found =
        std::find_if(snapshot.other_languages.begin(), snapshot.other_languages.end(),
                     [&](const Catalogue& one) { return one.language() == language; });
    return found == snapshot.other_languages.end() ? nullptr : &*found;
}

}  // namespace

const Catalogue& catalogue_for(const Snapshot& snapshot, std::string_view accept_language) {
    const Catalogue* best = &snapshot.catalogue;
    int best_weight = 0;
    while (!accept_language.empty()) {
        std::string_view parameters = take_until(accept_language, ',');
        const std::string_view tag = take_until(parameters, ';');
        const auto weight = weight_of(trimmed(parameters));
        const Catalogue* catalogue = find_catalogue(snapshot, tag);
        if (catalogue != nullptr && weight && *weight > best_weight) {
            best = catalogue;
            best_weight = *weight;
        }
    }
    return *best;
}

}  // namespace waybourne::server
