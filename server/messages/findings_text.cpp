#include "server/messages/findings_text.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

namespace waybourne::server {

namespace {

using Kind = TextTokenKind;

constexpr std::size_t longest_text = 1'000;

/// A number as it stands in the text.
struct Number {
    double value = 0;
    /// `1.500`: thousands, when the field takes whole numbers only.
    bool is_grouped = false;
    bool is_whole = true;
    std::optional<TimeUnit> unit = {};
    /// The token behind it and its unit.
    std::size_t end = 0;
};

/// Fields that are spans of time, and the unit the protocol asks for.
struct TimeField {
    std::string_view name;
    TimeUnit unit;
    TimeUnit longest;  ///< nobody counts it in longer ones
};

constexpr std::array time_fields{
    TimeField{"gestation_weeks", TimeUnit::weeks, TimeUnit::weeks},
    TimeField{"days_postpartum", TimeUnit::days, TimeUnit::weeks},
    TimeField{"labour_hours", TimeUnit::hours, TimeUnit::days},
    TimeField{"second_stage_hours", TimeUnit::hours, TimeUnit::hours},
    TimeField{"membranes_hours", TimeUnit::hours, TimeUnit::weeks},
    TimeField{"placenta_minutes", TimeUnit::minutes, TimeUnit::hours},
};

const TimeField* find_time_field(std::string_view name) {
    const auto* found = std::find_if(time_fields.begin(), time_fields.end(),
                                     [&](const TimeField& field) { return field.name == name; });
    return found == time_fields.end() ? nullptr : found;
}

double minutes_in(TimeUnit unit) {
    constexpr std::array minutes{1.0, 60.0, 1'440.0, 10'080.0};
    return minutes.at(static_cast<std::size_t>(unit));
}

/// Which of two states of a woman holds when both are named: the later one. None: it cannot be
/// said.
std::optional<std::string> later_status(const std::string& one, const std::string& other) {
    constexpr std::array<std::string_view, 3> course{"pregnant", "in_labour", "postpartum"};
    const auto place = [&](const std::string& status) {
        return std::find(course.begin(), course.end(), status) - course.begin();
    };
    const auto last = static_cast<std::ptrdiff_t>(course.size());
    if (place(one) < last && place(other) < last) {
        return place(one) < place(other) ? other : one;
    }
    if (one == "pregnant" || other == "pregnant") {
        return one == "pregnant" ? other : one;
    }
    return std::nullopt;
}

class Reader {
public:
    Reader(const TextWords& words, const triage::Protocol& protocol, std::string_view text,
           Instant now)
        : words_(words),
          protocol_(protocol),
          tokens_(text_tokens(text.substr(0, longest_text))),
          now_(now) {}

    TextedFindings run() {
        while (at_ < tokens_.size()) {
            take_next();
        }
        flush_unknown();
        for (const std::string& field : in_doubt_) {
            read_.findings.values.erase(field);
        }
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
        if (take_parity() || take_pressure(at_) || take_phrase() || take_number()) {
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

    std::optional<Number> number_at(std::size_t at) const {
        if (!is(at, Kind::number)) {
            return std::nullopt;
        }
        constexpr std::size_t longest_number = 9;
        constexpr std::size_t digits_of_thousands = 3;
        const std::string& text = tokens_[at].text;
        if (text.size() > longest_number) {
            return std::nullopt;
        }
        Number number;
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

    /// The number in the field's own unit; none when it does not fit the field.
    std::optional<double> in_unit_of(const std::string& field, const Number& number) const {
        const TimeField* time = find_time_field(field);
        const bool whole = protocol_.fields[*protocol_.find_field(field)].whole;
        if (time == nullptr) {
            if (number.unit && *number.unit != TimeUnit::minutes) {
                return std::nullopt;  // `fever 3 days` says nothing of degrees
            }
            if (whole && !number.is_whole) {
                constexpr double thousand = 1'000;
                return number.is_grouped ? std::optional(number.value * thousand) : std::nullopt;
            }
            return number.value;
        }
        const TimeUnit unit = number.unit.value_or(time->unit);
        if (unit > time->longest) {
            return std::nullopt;
        }
        const double value = number.value * minutes_in(unit) / minutes_in(time->unit);
        return whole ? std::floor(value) : value;
    }

    /// Gives the number to every field that it fits.
    bool give(const std::vector<std::string>& fields, const Number& number) {
        const bool needs_unit = fields.size() > 1 && !number.unit;
        if (needs_unit) {
            return false;
        }
        bool is_taken = false;
        for (const std::string& field : fields) {
            const auto value = in_unit_of(field, number);
            if (value && set_number(field, *value)) {
                is_taken = true;
            }
        }
        return is_taken;
    }

    bool set_number(const std::string& name, double value) {
        const auto part = protocol_.fields[*protocol_.find_field(name)].of_reading;
        if (part == triage::ReadingPart::pulse) {
            if (read_.findings.readings.empty() || read_.findings.readings.back().pulse) {
                new_reading();
            }
            read_.findings.readings.back().pulse = static_cast<int>(value);
            return true;
        }
        return read_.findings.values.emplace(name, value).second;
    }

    triage::Reading& new_reading() {
        triage::Reading& reading = read_.findings.readings.emplace_back();
        reading.taken_at = now_;
        return reading;
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
            if (!set_number("gestation_weeks", upper->value)) {
                not_understood(at, at_);
            }
            return true;
        }
        if (upper->value < least_mmhg + least_mmhg) {
            not_understood(at, at_);  // `16/11` is in cmHg, or a date
            return true;
        }
        auto& readings = read_.findings.readings;
        triage::Reading& reading =
            readings.empty() || readings.back().systolic ? new_reading() : readings.back();
        reading.systolic = static_cast<int>(upper->value);
        reading.diastolic = static_cast<int>(lower->value);
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
        if (number->unit == TimeUnit::weeks && set_number("gestation_weeks", number->value)) {
            at_ = number->end;
            return true;
        }
        not_understood(at_, number->end);
        at_ = number->end;
        is_negated_ = false;
        return true;
    }

    bool take_after_number(const Number& number, std::size_t next) {
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
            triage::Reading& reading = new_reading();
            reading.systolic = static_cast<int>(upper->value);
            at_ = upper->end;
            if (lower && lower->is_whole) {
                reading.diastolic = static_cast<int>(lower->value);
                at_ = lower->end;
            }
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
        std::optional<Number> number = number_at(at);
        const auto unit = phrase_at(at);
        if (!number && unit && unit->second->unit) {
            number = number_at(at + unit->first);  // `day 2`
            if (number) {
                number->unit = unit->second->unit;
            }
        }
        if (!number && is(at, Kind::plus)) {
            number = Number{static_cast<double>(tokens_[at].text.size()), false, true, {}, at + 1};
        }
        const bool is_step = std::any_of(
            meaning.numbers.begin(), meaning.numbers.end(), [&](const std::string& field) {
                return protocol_.fields[*protocol_.find_field(field)].type ==
                       triage::FieldType::step;
            });
        if (!number && is_step && use_at(at) == WordUse::no) {
            number = Number{0, false, true, {}, at + phrase_at(at)->first};
        } else if (!number && is_step && is_negated_) {
            number = Number{0, false, true, {}, end};
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

    void state(const TextFact& fact, bool is_negated, std::size_t begin, std::size_t end) {
        const triage::Field& field = protocol_.fields[*protocol_.find_field(fact.first)];
        if (field.type == triage::FieldType::sign) {
            const bool holds = fact.second == "yes";
            if (is_negated && !holds) {
                not_understood(begin, end);  // `no retained placenta`: is it out?
                return;
            }
            state_sign(field, holds && !is_negated);
            return;
        }
        if (is_negated) {
            not_understood(begin, end);  // `not alert`: what then?
            return;
        }
        state_choice(field, fact.second);
    }

    /// Of two answers the one that is not the safer counts.
    void state_sign(const triage::Field& field, bool holds) {
        const auto answer = holds ? triage::Answer::yes : triage::Answer::no;
        const auto [place, is_new] = read_.findings.values.emplace(field.name, answer);
        const bool is_safer = field.safer && field.safer->contains(holds ? 1 : 0);
        if (!is_new && !is_safer) {
            place->second = answer;
        }
    }

    void state_choice(const triage::Field& field, const std::string& choice) {
        const auto [place, is_new] = read_.findings.values.emplace(field.name, choice);
        if (is_new || place->second == triage::FindingValue{choice}) {
            return;
        }
        const std::string before = std::get<std::string>(place->second);
        const auto& choices = field.choices;
        if (field.name == "status") {
            const auto later = later_status(before, choice);
            if (later) {
                place->second = *later;
            } else {
                put_in_doubt(field.name, before, choice);
            }
        } else if (field.ordered) {
            const bool is_worse = std::find(choices.begin(), choices.end(), choice) >
                                  std::find(choices.begin(), choices.end(), before);
            place->second = is_worse ? choice : before;
        } else {
            put_in_doubt(field.name, before, choice);
        }
    }

    void put_in_doubt(const std::string& field, const std::string& one, const std::string& other) {
        in_doubt_.insert(field);
        read_.not_understood.push_back(one + " or " + other);
    }

    const TextWords& words_;
    const triage::Protocol& protocol_;
    const std::vector<TextToken> tokens_;
    Instant now_;

    TextedFindings read_;
    std::size_t at_ = 0;
    bool is_negated_ = false;
    /// The sign before was answered with no: `or` carries it on.
    bool carries_no_ = false;
    bool is_answered_unknown_ = false;
    std::string unknown_;
    std::set<std::string> in_doubt_;
};

}  // namespace

TextedFindings read_texted_findings(const TextWords& words, const triage::Protocol& protocol,
                                    std::string_view text, Instant now) {
    return Reader{words, protocol, text, now}.run();
}

}  // namespace waybourne::server
