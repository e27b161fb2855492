#include "server/messages/findings_text.hpp"

#include <algorithm>

#include "server/messages/texted_values.hpp"

namespace waybourne::server {

namespace {

using Kind = TextTokenKind;

constexpr std::size_t longest_text = 1'000;

class Reader {
public:
    Reader(const TextWords& words, const triage::Protocol& protocol, std::string_view text,
           Instant now)
        : words_(words),
          tokens_(text_tokens(text.substr(0, longest_text))),
          values_(protocol, now) {}

    TextedFindings run() {
        while (at_ < tokens_.size()) {
            take_next();
        }
        flush_unknown();
        read_.findings = values_.take();
        return std::move(read_);
    }

private:
    bool is(std::size_t at, Kind kind) const {
        return at < tokens_.size() && tokens_[at].kind == kind;
    }
    std::optional<std::pair<std::size_t, const PhraseMeaning*>> phrase_at(std::size_t at) const {
        if (!is(at, Kind::word) && !is(at, Kind::number)) {
            return std::nullopt;
        }
        return words_.find(std::span{tokens_}.subspan(at));
    }
    WordUse use_at(std::size_t at) const {
        const auto phrase = phrase_at(at);
        return phrase ? phrase->second->use : WordUse::none;
    }

    void take_next() {
        if (take_parity() || take_pressure(at_) || take_second_degree() || take_phrase() ||
            take_number()) {
            return;
        }
        const TextToken& token = tokens_[at_];
        if (token.kind == Kind::word) {
            if (const PhraseMeaning* near = words_.find_near(token.text)) {
                take(*near, at_ + 1);
                return;
            }
            is_negated_ = false;  // whatever the "no" was about, it was not what follows
            unknown_ += (unknown_.empty() ? "" : " ") + token.text;
        } else if (token.kind == Kind::stop || token.kind == Kind::question) {
            end_clause();
        }
        ++at_;
    }

    // A word beside an answer that would make a worse one of it: `bleeding light heavy`

    /// The phrase that said one degree of an ordered field (tokens from `begin` to `end`).
    struct Degree {
        std::size_t begin = 0;
        std::size_t end = 0;
        std::string field;
        bool is_least = false;  ///< `no bleeding`
    };

    /// Said back as it stands: it means nothing by itself.
    bool is_loose(std::size_t at) const {
        const auto phrase = phrase_at(at);
        return is(at, Kind::word) &&
               (phrase ? phrase->second->is_unclear && phrase->second->facts.empty()
                       : words_.find_near(tokens_[at].text) == nullptr);
    }

    bool is_filling(std::size_t begin, std::size_t end) const {
        while (begin < end) {
            const WordUse use = use_at(begin);
            const bool is_sign = !is(begin, Kind::word) && !is(begin, Kind::number);
            if (!is_sign && use != WordUse::filler && use != WordUse::also_no) {
                return false;
            }
            begin += is_sign ? 1 : phrase_at(begin)->first;
        }
        return true;
    }

    /// What these tokens say of the field, if they are a phrase: how many they are, and the fact.
    std::optional<std::pair<std::size_t, TextFact>> degree_in(const std::vector<TextToken>& tokens,
                                                              const std::string& field) const {
        const auto phrase = words_.find(tokens);
        if (!phrase || phrase->first < 2) {
            return std::nullopt;
        }
        for (const TextFact& fact : phrase->second->facts) {
            if (fact.first == field) {
                return std::pair{phrase->first, fact};
            }
        }
        return std::nullopt;
    }

    /// A loose word may as well belong to what follows: `light bleeding severe pain`.
    bool belongs_to_next(std::size_t at) const {
        at = behind_filling(at);
        const bool ends = at >= tokens_.size() || is(at, Kind::stop) || is(at, Kind::question);
        return !ends && (degree_->is_least || is_loose(at));
    }

    /// Behind it: `bleeding light heavy` is `bleeding light` and `bleeding heavy`.
    bool take_second_degree() {
        const bool can_begin = is_loose(at_) || use_at(at_) == WordUse::filler;  // `a lot`
        if (!degree_ || is_negated_ || !can_begin || !is_filling(degree_->end, at_)) {
            return false;
        }
        for (std::size_t word = degree_->begin; word < degree_->end; ++word) {
            std::vector<TextToken> tokens{tokens_[word]};
            tokens.insert(tokens.end(), tokens_.begin() + static_cast<std::ptrdiff_t>(at_),
                          tokens_.end());
            const auto second = degree_in(tokens, degree_->field);
            if (second && !belongs_to_next(at_ + second->first - 1)) {
                flush_unknown();
                state(second->second, false, at_, at_ + second->first - 1);
                at_ += second->first - 1;
                degree_->end = at_;
                return true;
            }
        }
        return false;
    }

    /// Before it: `heavy light bleeding` is `heavy bleeding` and `light bleeding`.
    void take_degree_before() {
        const std::size_t begin = degree_->begin;
        if (begin == 0 || !is_loose(begin - 1)) {
            return;
        }
        for (std::size_t word = begin; word < degree_->end; ++word) {
            const auto first = degree_in({tokens_[begin - 1], tokens_[word]}, degree_->field);
            if (first) {
                auto& back = read_.not_understood;
                if (!back.empty() && back.back() == tokens_[begin - 1].text) {
                    back.pop_back();
                }
                state(first->second, false, begin - 1, begin);
                return;
            }
        }
    }

    void note_degree(const PhraseMeaning& meaning, std::size_t begin, std::size_t end) {
        for (const TextFact& fact : meaning.facts) {
            const triage::Field& field = values_.field(fact.first);
            if (field.type == triage::FieldType::choice && field.ordered) {
                degree_ = Degree{begin, end, fact.first, fact.second == field.choices.front()};
                take_degree_before();
            }
        }
    }

    /// `G3P2`: how often she was pregnant and gave birth, which no rule asks for.
    bool take_parity() {
        const auto is_letter = [&](std::size_t at, const char* letter) {
            return is(at, Kind::word) && tokens_[at].text == letter && is(at + 1, Kind::number);
        };
        if (!is_letter(at_, "g") || !is_letter(at_ + 2, "p")) {
            return false;
        }
        constexpr std::size_t tokens_of_parity = 4;
        at_ += tokens_of_parity;
        return true;
    }

    void end_clause() {
        flush_unknown();
        is_negated_ = false;
        carries_no_ = false;
    }

    void flush_unknown() {
        if (!unknown_.empty()) {
            read_.not_understood.push_back(std::exchange(unknown_, {}));
        }
    }

    void not_understood(std::size_t begin, std::size_t end) {
        flush_unknown();
        std::string piece;
        for (std::size_t i = begin; i < end; ++i) {
            const bool is_joined = piece.empty() || tokens_[i].kind != Kind::word ||
                                   tokens_[i - 1].kind == Kind::slash;
            piece += (is_joined ? "" : " ") + tokens_[i].text;
        }
        read_.not_understood.push_back(std::move(piece));
    }

    // Numbers

    std::optional<TextNumber> number_at(std::size_t at) const {
        if (!is(at, Kind::number)) {
            return std::nullopt;
        }
        constexpr std::size_t longest_number = 9;
        constexpr std::size_t digits_of_thousands = 3;
        const std::string& text = tokens_[at].text;
        if (text.size() > longest_number) {
            return std::nullopt;
        }
        TextNumber number;
        number.value = std::stod(text);
        number.end = at + 1;
        const std::size_t point = text.find('.');
        number.is_whole = point == std::string::npos;
        number.is_grouped = !number.is_whole && text.size() - point - 1 == digits_of_thousands;
        if (const auto phrase = phrase_at(at + 1); phrase && phrase->second->unit) {
            number.unit = phrase->second->unit;
            number.end = at + 1 + phrase->first;
        }
        return number;
    }

    std::size_t behind_filling(std::size_t at) const {
        while (is(at, Kind::is) || use_at(at) == WordUse::filler) {
            at += is(at, Kind::is) ? 1 : phrase_at(at)->first;
        }
        return at;
    }

    /// Gives the number to every field that it fits.
    bool give(const std::vector<std::string>& fields, const TextNumber& number) {
        const bool needs_unit = fields.size() > 1 && !number.unit;
        if (needs_unit) {
            return false;
        }
        bool is_taken = false;
        for (const std::string& field : fields) {
            is_taken = values_.put_number(field, number) || is_taken;
        }
        return is_taken;
    }

    /// `165/112`; `34/40` are weeks.
    bool take_pressure(std::size_t at) {
        const auto upper = number_at(at);
        if (!upper || !is(at + 1, Kind::slash)) {
            return false;
        }
        const auto lower = number_at(at + 2);
        if (!lower || !upper->is_whole || !lower->is_whole) {
            return false;
        }
        constexpr double full_term = 40;
        constexpr double longest_pregnancy = 45;
        constexpr double least_mmhg = 20;
        at_ = at + 3;
        is_negated_ = false;
        if (lower->value == full_term && upper->value <= longest_pregnancy) {
            if (!values_.put_number("gestation_weeks", *upper)) {
                not_understood(at, at_);
            }
            return true;
        }
        if (upper->value < least_mmhg + least_mmhg) {
            not_understood(at, at_);  // `16/11` is in cmHg, or a date
            return true;
        }
        values_.put_pressure(static_cast<int>(upper->value), static_cast<int>(lower->value));
        return true;
    }

    /// `34 weeks`, `2 days after birth`, `14 h in labour`.
    bool take_number() {
        const auto number = number_at(at_);
        if (!number) {
            if (is(at_, Kind::number)) {
                not_understood(at_, at_ + 1);
                ++at_;
                return true;
            }
            return false;
        }
        flush_unknown();
        for (const std::size_t next : {number->end, behind_filling(number->end)}) {
            if (take_after_number(*number, next)) {
                return true;
            }
        }
        if (number->unit == TimeUnit::weeks && values_.put_number("gestation_weeks", *number)) {
            at_ = number->end;
            return true;
        }
        not_understood(at_, number->end);
        at_ = number->end;
        is_negated_ = false;
        return true;
    }

    bool take_after_number(const TextNumber& number, std::size_t next) {
        const auto phrase = phrase_at(next);
        if (!phrase || phrase->second->after_number.empty() ||
            !give(phrase->second->after_number, number)) {
            return false;
        }
        take_facts(*phrase->second, next, next + phrase->first, next + phrase->first);
        return true;
    }

    // Phrases

    bool take_phrase() {
        const auto phrase = phrase_at(at_);
        if (!phrase || is(at_, Kind::number) != starts_with_number(*phrase)) {
            return false;
        }
        const auto& [length, meaning] = *phrase;
        if (meaning->use == WordUse::no) {
            flush_unknown();
            is_negated_ = true;
            at_ += length;
            return true;
        }
        if (meaning->use == WordUse::also_no) {
            is_negated_ = is_negated_ || carries_no_;
        }
        if (meaning->use != WordUse::none && meaning->numbers.empty()) {
            at_ += length;
            return true;
        }
        flush_unknown();
        take(*meaning, at_ + length);
        return true;
    }

    /// A phrase such as `4x4` is taken before its number is; a bare number is none.
    bool starts_with_number(const std::pair<std::size_t, const PhraseMeaning*>& phrase) const {
        return is(at_, Kind::number) && phrase.first > 1;
    }

    void take(const PhraseMeaning& meaning, std::size_t end) {
        const std::size_t begin = at_;
        std::size_t next = end;
        if (meaning.is_pressure) {
            take_named_pressure(begin, end);
            return;
        }
        const bool has_number = !meaning.numbers.empty() && take_named_number(meaning, end, next);
        take_facts(meaning, begin, end, next);
        if (has_number) {
            return;
        }
        const bool says_nothing =
            !meaning.means && meaning.use == WordUse::none && !is_answered_unknown_;
        if (meaning.facts.empty() && (meaning.is_unclear || says_nothing)) {
            not_understood(begin, end);
        }
    }

    void take_named_pressure(std::size_t begin, std::size_t end) {
        const std::size_t at = behind_filling(end);
        if (take_pressure(at)) {
            return;
        }
        const auto upper = number_at(at);
        if (upper && upper->is_whole) {
            // `BP 165 over 112`
            const bool has_word = is(upper->end, Kind::word) && !phrase_at(upper->end);
            const auto lower = has_word ? number_at(upper->end + 1) : std::nullopt;
            const bool has_lower = lower && lower->is_whole;
            values_.put_pressure(
                static_cast<int>(upper->value),
                has_lower ? std::optional(static_cast<int>(lower->value)) : std::nullopt);
            at_ = has_lower ? lower->end : upper->end;
            return;
        }
        at_ = end;
        if (use_at(at) == WordUse::unknown || is(at, Kind::question)) {
            at_ = at + 1;
            return;
        }
        not_understood(begin, end);
    }

    bool take_named_number(const PhraseMeaning& meaning, std::size_t end, std::size_t& next) {
        const std::size_t at = behind_filling(end);
        std::optional<TextNumber> number = number_at(at);
        const auto unit = phrase_at(at);
        if (!number && unit && unit->second->unit) {
            number = number_at(at + unit->first);  // `day 2`
            if (number) {
                number->unit = unit->second->unit;
            }
        }
        if (!number && is(at, Kind::plus)) {
            number =
                TextNumber{static_cast<double>(tokens_[at].text.size()), false, true, {}, at + 1};
        }
        const bool is_step = std::any_of(
            meaning.numbers.begin(), meaning.numbers.end(), [&](const std::string& field) {
                return values_.field(field).type == triage::FieldType::step;
            });
        if (!number && is_step && use_at(at) == WordUse::no) {
            number = TextNumber{0, false, true, {}, at + phrase_at(at)->first};
        } else if (!number && is_step && is_negated_) {
            number = TextNumber{0, false, true, {}, end};
        }
        const bool is_of_a_pair =
            number && is(number->end, Kind::slash) && !is_step && is(number->end + 1, Kind::number);
        if (!number || is_of_a_pair || !give(meaning.numbers, *number)) {
            return false;
        }
        next = number->end;
        while (is_step && is(next, Kind::plus)) {
            ++next;
        }
        if (is(next, Kind::slash) && is(next + 1, Kind::word)) {
            next += 2;  // `96/min`
        }
        next = behind_own_unit(meaning.numbers, next);
        return true;
    }

    /// `cervix 7 cm`: the unit says once more what the number is of.
    std::size_t behind_own_unit(const std::vector<std::string>& fields, std::size_t at) const {
        const auto phrase = phrase_at(at);
        const bool is_own = phrase && phrase->second->facts.empty() &&
                            std::any_of(fields.begin(), fields.end(), [&](const auto& field) {
                                const auto& after = phrase->second->after_number;
                                return std::find(after.begin(), after.end(), field) != after.end();
                            });
        return is_own ? at + phrase->first : at;
    }

    // Facts

    /// @param next where reading goes on
    void take_facts(const PhraseMeaning& meaning, std::size_t begin, std::size_t end,
                    std::size_t next) {
        at_ = next;
        is_answered_unknown_ = false;
        const bool has_facts = !meaning.facts.empty();
        const bool is_negated = std::exchange(is_negated_, false);
        const Said said = next == end ? said_behind(next) : Said::nothing;
        if (meaning.means && !is_negated) {
            read_.means = meaning.means;
        }
        if (said == Said::unknown) {
            is_answered_unknown_ = true;
            return;
        }
        carries_no_ = is_negated || said == Said::no;
        for (const TextFact& fact : meaning.facts) {
            state(fact, carries_no_, begin, end);
        }
        if (!is_negated && said != Said::no) {
            note_degree(meaning, begin, end);
        }
        if (has_facts && is_negated && said == Said::yes) {
            for (const TextFact& fact : meaning.facts) {
                state(fact, false, begin, end);
            }
        }
    }

    enum class Said { nothing, yes, no, unknown };

    /// `: yes`, `no,`, `?`: what stands behind a sign and belongs to it.
    Said said_behind(std::size_t at) {
        const bool is_joined = is(at, Kind::is);
        const std::size_t word = is_joined ? at + 1 : at;
        if (is(word, Kind::question)) {
            at_ = word + 1;
            return Said::unknown;
        }
        const auto phrase = phrase_at(word);
        if (!phrase) {
            return Said::nothing;
        }
        const std::size_t behind = word + phrase->first;
        const bool ends = behind >= tokens_.size() || is(behind, Kind::stop);
        switch (phrase->second->use) {
            case WordUse::yes:
                at_ = behind;
                return Said::yes;
            case WordUse::unknown:
                at_ = behind;
                return Said::unknown;
            case WordUse::no:
                if (is_joined || ends) {
                    at_ = behind;
                    return Said::no;
                }
                return Said::nothing;
            default:
                return Said::nothing;
        }
    }

    void state(const TextFact& fact, bool is_denied, std::size_t begin, std::size_t end) {
        if (is_denied && !values_.can_be_denied(fact)) {
            not_understood(begin, end);  // what holds instead?
        } else if (auto contradiction = values_.put_fact(fact, is_denied)) {
            read_.not_understood.push_back(std::move(*contradiction));
        }
    }

    const TextWords& words_;
    const std::vector<TextToken> tokens_;

    TextedValues values_;
    TextedFindings read_;
    std::size_t at_ = 0;
    bool is_negated_ = false;
    /// The sign before was answered with no: `or` carries it on.
    bool carries_no_ = false;
    bool is_answered_unknown_ = false;
    /// The last one said; what stands beside it is looked at.
    std::optional<Degree> degree_;
    std::string unknown_;
};

}  // namespace

TextedFindings read_texted_findings(const TextWords& words, const triage::Protocol& protocol,
                                    std::string_view text, Instant now) {
    return Reader{words, protocol, text, now}.run();
}

}  // namespace waybourne::server
