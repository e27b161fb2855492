#include "server/messages/care_text.hpp"

#include <span>
#include <string>

namespace waybourne::server {

namespace {

using Kind = TextTokenKind;

class Reader {
public:
    Reader(const TextWords& words, std::string_view text)
        : words_(words), tokens_(text_tokens(text)) {}

    std::optional<SaidReady> run() {
        SaidReady said;
        const bool is_lacking = take(WordUse::no);
        const auto about = phrase();
        if (!about || !about->second->care) {
            return std::nullopt;
        }
        said.about = *about->second->care;
        at_ += about->first;
        skip_filling();
        said.is_ready = !is_lacking;
        if (!is_lacking && !take(WordUse::ready) && !take(WordUse::yes)) {
            return std::nullopt;
        }
        if (take(WordUse::until)) {
            said.until_minutes = clock();
            if (!said.until_minutes) {
                return std::nullopt;
            }
        }
        skip_filling();
        return at_ == tokens_.size() ? std::optional(said) : std::nullopt;
    }

private:
    std::optional<std::pair<std::size_t, const PhraseMeaning*>> phrase() const {
        return words_.find(std::span{tokens_}.subspan(at_));
    }

    void skip_filling() {
        while (at_ < tokens_.size()) {
            const auto next = phrase();
            const bool is_filling =
                next && next->second->use == WordUse::filler && !next->second->care;
            if (!is_filling && tokens_[at_].kind != Kind::stop) {
                return;
            }
            at_ += is_filling ? next->first : 1;
        }
    }

    bool take(WordUse use) {
        skip_filling();
        auto next = phrase();
        if (next && next->second->use != use) {
            next = words_.find(std::span{tokens_}.subspan(at_, 1));  // `no blood` is a phrase too
        }
        if (!next || next->second->use != use) {
            return false;
        }
        at_ += next->first;
        skip_filling();
        return true;
    }

    std::optional<int> whole(std::size_t most) {
        if (at_ >= tokens_.size() || tokens_[at_].kind != Kind::number ||
            tokens_[at_].text.size() > 2) {
            return std::nullopt;
        }
        const int value = std::stoi(tokens_[at_].text);
        ++at_;
        return value <= static_cast<int>(most) ? std::optional(value) : std::nullopt;
    }

    /// `18:00`, `18h`, `18h30`, `saa 18`, as minutes after midnight.
    std::optional<int> clock() {
        constexpr std::size_t last_hour = 23;
        constexpr std::size_t last_minute = 59;
        constexpr int in_an_hour = 60;
        take_unit();
        const auto hours = whole(last_hour);
        if (!hours) {
            return std::nullopt;
        }
        const bool is_parted =
            take_unit() || (at_ < tokens_.size() && tokens_[at_].kind == Kind::is && ++at_ > 0);
        if (!is_parted || at_ == tokens_.size()) {
            return *hours * in_an_hour;
        }
        const auto minutes = whole(last_minute);
        return minutes ? std::optional(*hours * in_an_hour + *minutes) : std::nullopt;
    }

    bool take_unit() {
        const auto next = phrase();
        if (!next || next->second->unit != TimeUnit::hours) {
            return false;
        }
        at_ += next->first;
        return true;
    }

    const TextWords& words_;
    const std::vector<TextToken> tokens_;
    std::size_t at_ = 0;
};

}  // namespace

std::optional<SaidReady> read_care_text(const TextWords& words, std::string_view text) {
    return Reader{words, text}.run();
}

}  // namespace waybourne::server
