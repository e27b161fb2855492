#include "referral/text_message.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>
#include <vector>

#include "referral/wording.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::referral {

namespace {

/// 3GPP TS 23.038, section 6.2.1, without line feed, carriage return and escape.
constexpr std::string_view basic =
    "@£$¥èéùìòÇØøÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà";
/// Section 6.2.1.1, its extension: each takes an escape before it.
constexpr std::string_view extended = "\f^{}\\[~]|€";

/// What stands for letters the alphabet lacks.
constexpr std::array<std::pair<std::string_view, std::string_view>, 53> plain{{
    {"á", "a"},  {"â", "a"},  {"ã", "a"},   {"ā", "a"},      {"ç", "c"},      {"ê", "e"},
    {"ë", "e"},  {"ē", "e"},  {"í", "i"},   {"î", "i"},      {"ï", "i"},      {"ī", "i"},
    {"ó", "o"},  {"ô", "o"},  {"õ", "o"},   {"ō", "o"},      {"ú", "u"},      {"û", "u"},
    {"ū", "u"},  {"ŵ", "w"},  {"ý", "y"},   {"ÿ", "y"},      {"Á", "A"},      {"Â", "A"},
    {"À", "A"},  {"Ã", "A"},  {"È", "E"},   {"Ê", "E"},      {"Ë", "E"},      {"Í", "I"},
    {"Î", "I"},  {"Ï", "I"},  {"Ì", "I"},   {"Ó", "O"},      {"Ô", "O"},      {"Õ", "O"},
    {"Ò", "O"},  {"Ú", "U"},  {"Û", "U"},   {"Ù", "U"},      {"ŋ", "n"},      {"’", "'"},
    {"‘", "'"},  {"–", "-"},  {"“", "\""},  {"”", "\""},     {"«", "\""},     {"»", "\""},
    {"œ", "oe"}, {"Œ", "OE"}, {"…", "..."}, {"\u00a0", " "}, {"\u202f", " "},
}};

/// The bytes of the UTF-8 character that starts at `at`; 1 for what is not UTF-8.
std::size_t character_bytes(std::string_view text, std::size_t at) {
    const auto first = static_cast<unsigned char>(text[at]);
    const std::size_t bytes = first < 0x80 ? 1 : first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
    return first >= 0x80 && first < 0xC0 ? 1 : std::min(bytes, text.size() - at);
}

std::vector<std::string_view> characters(std::string_view text) {
    std::vector<std::string_view> all;
    for (std::size_t at = 0; at < text.size();) {
        all.push_back(text.substr(at, character_bytes(text, at)));
        at += all.back().size();
    }
    return all;
}

/// 1, 2, or 0 for what the alphabet lacks. A byte that starts no character is found in neither
/// table as one: both hold whole characters, and it is looked up as one of its own.
std::size_t places(std::string_view character) {
    if (character == "\n" || character == "\r") {
        return 1;
    }
    const auto is_in = [&](std::string_view table) {
        const auto all = characters(table);
        return std::find(all.begin(), all.end(), character) != all.end();
    };
    return is_in(basic) ? 1 : is_in(extended) ? 2 : 0;
}

bool fits(std::string_view text, std::size_t most = text_message_length) {
    const auto length = text_message_characters(text);
    return length && *length <= most;
}

std::string written(const Catalogue& catalogue, const Message& message) {
    return in_text_message_alphabet(catalogue.text(message));
}

/// Without the last character.
std::string without_last(const std::string& name) {
    const auto all = characters(name);
    return name.substr(0, name.size() - all.back().size());
}

/// The message with its values `names` cut until it fits, the longest first.
std::string fitted(const Catalogue& catalogue, const Message& whole,
                   const std::vector<std::string>& names, std::size_t most) {
    Message message = whole;
    std::string text = written(catalogue, message);
    while (!fits(text, most)) {
        std::string* longest = nullptr;
        for (auto& [name, value] : message.values) {
            const bool is_cut = std::find(names.begin(), names.end(), name) != names.end();
            if (is_cut && (longest == nullptr || value.size() > longest->size())) {
                longest = &value;
            }
        }
        if (longest == nullptr || longest->empty()) {
            throw InputError("the text '" + message.id + "' is too long for a message");
        }
        *longest = without_last(*longest);
        text = written(catalogue, message);
    }
    return text;
}

std::string minutes_left(Instant until, Instant now) {
    // Rounded down: never more time than there is.
    return std::to_string(std::chrono::floor<std::chrono::minutes>(until - now).count());
}

std::string joined(const std::vector<std::string>& parts) {
    std::string all;
    for (const std::string& part : parts) {
        all += (all.empty() ? "" : ", ") + part;
    }
    return all;
}

std::optional<double> number(const triage::Findings& findings, std::string_view field) {
    const auto found = findings.values.find(field);
    const double* value =
        found == findings.values.end() ? nullptr : std::get_if<double>(&found->second);
    return value == nullptr ? std::nullopt : std::optional{*value};
}

std::string choice_of(const triage::Findings& findings, std::string_view field) {
    const auto found = findings.values.find(field);
    const auto* value =
        found == findings.values.end() ? nullptr : std::get_if<std::string>(&found->second);
    return value == nullptr ? "" : *value;
}

bool is_yes(const triage::Findings& findings, std::string_view field) {
    const auto found = findings.values.find(field);
    return found != findings.values.end() &&
           found->second == triage::FindingValue{triage::Answer::yes};
}

/// What is seen and measured, the most telling first. Nothing that could shame her.
std::vector<std::string> facts_of(const triage::Findings& findings, const Catalogue& catalogue) {
    std::vector<std::string> facts;
    const auto tell = [&](const char* id, std::vector<std::pair<std::string, std::string>> values) {
        facts.push_back(catalogue.text(Message{id, std::move(values)}));
    };
    const std::string status = choice_of(findings, "status");
    const auto weeks = number(findings, "gestation_weeks");
    if (weeks && (status == "pregnant" || status == "in_labour")) {
        tell("referral.message.weeks", {{"value", std::to_string(static_cast<int>(*weeks))}});
    }
    if (status == "postpartum") {
        tell("referral.message.after_birth", {});
    } else if (status == "in_labour") {
        tell("referral.message.in_labour", {});
    }
    if (is_yes(findings, "convulsions")) {
        tell("referral.message.fits", {});
    }
    if (choice_of(findings, "bleeding") == "heavy") {
        tell("referral.message.bleeding", {});
    }
    if (const std::string alert = choice_of(findings, "avpu"); !alert.empty() && alert != "A") {
        tell("referral.message.not_alert", {});
    }
    const auto latest =
        std::max_element(findings.readings.begin(), findings.readings.end(),
                         [](const auto& a, const auto& b) { return a.taken_at < b.taken_at; });
    if (latest != findings.readings.end() && latest->systolic && latest->diastolic) {
        tell("referral.message.pressure", {{"systolic", std::to_string(*latest->systolic)},
                                           {"diastolic", std::to_string(*latest->diastolic)}});
    }
    if (latest != findings.readings.end() && latest->pulse) {
        tell("referral.message.pulse", {{"value", std::to_string(*latest->pulse)}});
    }
    return facts;
}

std::vector<std::string> needs_of(const Stage& stage, const Catalogue& catalogue) {
    std::vector<std::string> needs;
    for (const triage::Capability capability : stage.meets) {
        const std::string id = "referral.short." + std::string(to_name(capability));
        std::string words =
            catalogue.has(id) ? catalogue.text(std::string_view{id}) : care_value(capability);
        if (std::find(needs.begin(), needs.end(), words) == needs.end()) {
            needs.push_back(std::move(words));
        }
    }
    return needs;
}

std::string word_of_order(bool is_changed, const Catalogue& catalogue) {
    return catalogue.text(std::string_view{is_changed ? "referral.message.order_changed"
                                                      : "referral.message.order_new"});
}

/// What a message to whoever drives says of the way.
/// @param id of the text; `_two_stops` and `_late` are added
Message way_message(std::string id, const MessageContext& context, const Choice& choice,
                    const facilities::FacilityRegister& facilities) {
    if (choice.stages.empty()) {
        throw InputError("there is no place to drive to");
    }
    const Stage& first = choice.stages.front();
    const bool has_next = choice.stages.size() > 1;
    Message message{
        std::move(id),
        {{"code", context.code},
         {"place", in_text_message_alphabet(facilities.facility(first.facility).name)}}};
    if (has_next) {
        const FacilityId& next = choice.stages.back().facility;
        message.id += "_two_stops";
        message.values.emplace_back("next",
                                    in_text_message_alphabet(facilities.facility(next).name));
    }
    if (const auto by = be_there_by(first)) {
        message.values.emplace_back("time", clock_time(*by, context.utc_offset));
        message.values.emplace_back("minutes", minutes_left(*by, context.now));
    } else {
        message.id += "_late";
    }
    return message;
}

/// `1) 34F7K9CA Luzhenni clinic, 2) …`
std::string words_of(const std::vector<TourStop>& stops, int decimals) {
    std::string words;
    for (const TourStop& stop : stops) {
        words += (words.empty() ? "" : ", ") + std::to_string(&stop - stops.data() + 1) + ") " +
                 stop.code + " " + in_words(stop.at, decimals);
    }
    return words;
}

/// Of all names in the text of a tour.
std::string& longest_name(Message& message, std::vector<TourStop>& stops) {
    std::string* longest = &stops.front().at.name;
    for (TourStop& stop : stops) {
        longest = stop.at.name.size() > longest->size() ? &stop.at.name : longest;
    }
    for (auto& [name, value] : message.values) {
        longest = name == "place" && value.size() > longest->size() ? &value : longest;
    }
    return *longest;
}

}  // namespace

std::optional<std::size_t> text_message_characters(std::string_view text) {
    std::size_t length = 0;
    for (const std::string_view character : characters(text)) {
        const std::size_t taken = places(character);
        if (taken == 0) {
            return std::nullopt;
        }
        length += taken;
    }
    return length;
}

std::string in_text_message_alphabet(std::string_view text) {
    std::string replaced;
    for (const std::string_view character : characters(text)) {
        if (places(character) > 0) {
            replaced += character;
            continue;
        }
        const auto known = std::find_if(plain.begin(), plain.end(), [&](const auto& letter) {
            return letter.first == character;
        });
        replaced += known == plain.end() ? "?" : known->second;
    }
    return replaced;
}

std::string in_words(const WaitingPlace& place, int decimals) {
    if (!place.point) {
        return place.name;
    }
    const std::string point = fmt::format("{:.{}f},{:.{}f}", place.point->latitude().degrees,
                                          decimals, place.point->longitude().degrees, decimals);
    return place.name.empty() ? point : point + " (" + place.name + ")";
}

std::optional<Instant> be_there_by(const Stage& stage) {
    const bool in_time = stage.margin && *stage.margin >= Seconds{0} && stage.leave_by;
    return in_time ? std::optional(*stage.leave_by + stage.travel_time.allow) : std::nullopt;
}

std::string driver_message(const MessageContext& context, const Choice& choice,
                           const facilities::FacilityRegister& facilities,
                           const Catalogue& catalogue) {
    return fitted(catalogue, way_message("referral.message.driver", context, choice, facilities),
                  {"place", "next"}, text_message_length);
}

std::string driver_order(const MessageContext& context, const std::string& from,
                         const Choice& choice, bool is_changed,
                         const facilities::FacilityRegister& facilities,
                         const Catalogue& catalogue) {
    Message message = way_message("referral.message.order", context, choice, facilities);
    message.values.emplace_back("from", in_text_message_alphabet(from));
    message.values.emplace_back("what", word_of_order(is_changed, catalogue));
    message.values.emplace_back("digits",
                                catalogue.text(std::string_view{"referral.message.digits"}));
    return fitted(catalogue, message, {"place", "next", "from"}, two_text_messages_length);
}

std::string meeting_order(const MessageContext& context, const MeetingPoint& meeting,
                          const Choice& choice, bool is_changed,
                          const facilities::FacilityRegister& facilities,
                          const Catalogue& catalogue) {
    Message message = way_message("referral.message.meeting", context, choice, facilities);
    message.values.emplace_back("from", in_text_message_alphabet(meeting.at));
    message.values.emplace_back("met", clock_time(meeting.by, context.utc_offset));
    message.values.emplace_back("what", word_of_order(is_changed, catalogue));
    message.values.emplace_back(
        "digits", catalogue.text(std::string_view{"referral.message.meeting_digits"}));
    return fitted(catalogue, message, {"place", "next", "from"}, two_text_messages_length);
}

std::string hand_over_order(const MessageContext& context, const std::string& from,
                            const MeetingPoint& meeting, bool is_changed,
                            const Catalogue& catalogue) {
    const Message message{
        from.empty() ? "referral.message.hand_over_now" : "referral.message.hand_over",
        {{"code", context.code},
         {"from", in_text_message_alphabet(from)},
         {"at", in_text_message_alphabet(meeting.at)},
         {"met", clock_time(meeting.by, context.utc_offset)},
         {"what", word_of_order(is_changed, catalogue)},
         {"digits", catalogue.text(std::string_view{"referral.message.hand_over_digits"})}}};
    return fitted(catalogue, message, {"from", "at"}, two_text_messages_length);
}

std::string tour_order(const MessageContext& context, std::span<const TourStop> stops,
                       const Choice& choice, bool is_changed,
                       const facilities::FacilityRegister& facilities, const Catalogue& catalogue) {
    Choice together = choice;
    together.stages.resize(std::min<std::size_t>(1, choice.stages.size()));
    Message message = way_message("referral.message.tour", context, together, facilities);
    message.values.emplace_back("what", word_of_order(is_changed, catalogue));
    message.values.emplace_back("digits",
                                catalogue.text(std::string_view{"referral.message.tour_digits"}));
    message.values.emplace_back("stops", "");
    std::vector<TourStop> shown(stops.begin(), stops.end());
    for (TourStop& stop : shown) {
        stop.at.name = in_text_message_alphabet(stop.at.name);
    }
    constexpr int most_decimals = 4;
    constexpr int fewest_decimals = 3;
    for (int decimals = most_decimals; decimals >= fewest_decimals; --decimals) {
        while (true) {
            message.values.back().second = words_of(shown, decimals);
            std::string text = written(catalogue, message);
            std::string& longest = longest_name(message, shown);
            if (fits(text, two_text_messages_length)) {
                return text;
            }
            if (longest.empty()) {
                break;
            }
            longest = without_last(longest);
        }
    }
    throw InputError("the text '" + message.id + "' is too long for a message");
}

std::string receiving_site_message(const MessageContext& context, const Choice& choice,
                                   std::size_t stage, const triage::Findings& findings,
                                   const Catalogue& catalogue) {
    if (stage >= choice.stages.size()) {
        throw InputError("the choice has no stage " + std::to_string(stage + 1));
    }
    const Stage& here = choice.stages[stage];
    std::vector<std::string> facts = facts_of(findings, catalogue);
    std::vector<std::string> needs = needs_of(here, catalogue);
    while (true) {
        const Message message{"referral.message.receiving",
                              {{"code", context.code},
                               {"time", clock_time(here.arrival.allow, context.utc_offset)},
                               {"minutes", minutes_left(here.arrival.allow, context.now)},
                               {"facts", facts.empty() ? "" : joined(facts) + ". "},
                               {"needs", joined(needs)}}};
        std::string text = written(catalogue, message);
        if (fits(text)) {
            return text;
        }
        std::vector<std::string>& shorter = facts.empty() ? needs : facts;
        if (shorter.empty()) {
            throw InputError("the text '" + message.id + "' is too long for one message");
        }
        shorter.pop_back();
    }
}

}  // namespace waybourne::referral
