#pragma once
/// What somebody at a receiving place writes about what it lacks: `no blood until 18:00`.

#include <optional>
#include <string_view>

#include "server/messages/said.hpp"
#include "server/messages/text_words.hpp"

namespace waybourne::server {

/// `no blood`, `pas de sang jusqu'à 18h`, `hakuna damu hadi 18:00`, `blood back`. One resource, and
/// nothing else in the text: else none, since `no blood` may also be said of a woman. O(length).
std::optional<SaidReady> read_care_text(const TextWords& words, std::string_view text);

}  // namespace waybourne::server
