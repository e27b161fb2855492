#include "server/words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>

#include "referral/wording.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/local_date.hpp"

namespace waybourne::server {

namespace {

std::optional<Instant> as_instant(const std::string& text) {
    // Only what an Instant is written as: `2026-03-04T09:40:00Z`.
    constexpr std::size_t length = 20;
    if (text.size() != length || text[10] != 'T' || text.back() != 'Z') {
        return std::nullopt;
    }
    try {
        return parse_rfc3339(text);
    } catch (const InputError&) {
        return std::nullopt;
    }
}

}  // namespace

std::string Words::counted(std::int64_t count, const char* unit) const {
    return catalogue_.text(Message{std::string("server.span.") + unit + (count == 1 ? "" : "s"),
                                   {{"count", std::to_string(count)}}});
}

std::string Words::span(Seconds span) const {
    const auto minutes = std::max<std::int64_t>(1, ceil_minutes(span).count());
    const auto hours = minutes / 60;
    const auto rest = minutes % 60;
    if (hours == 0) {
        return counted(minutes, "minute");
    }
    return rest == 0 ? counted(hours, "hour")
                     : counted(hours, "hour") + " " + counted(rest, "minute");
}

std::string Words::clock(Instant instant) const {
    constexpr std::array<const char*, 7> days{"sunday",   "monday", "tuesday", "wednesday",
                                              "thursday", "friday", "saturday"};
    const LocalTime local = zone_.local(instant);
    const LocalDay day = day_of(local);
    const std::chrono::hh_mm_ss time{time_of_day(local)};
    std::string clock = fmt::format("{:02}:{:02}", time.hours().count(), time.minutes().count());
    if (day == day_of(zone_.local(now_))) {
        return clock;
    }
    const std::chrono::year_month_day date{day};
    const auto word = [&](const std::string& id) { return catalogue_.text(std::string_view{id}); };
    return catalogue_.text(Message{
        "server.clock.other_day",
        {{"day",
          word(std::string("server.day.") + days.at(std::chrono::weekday{day}.c_encoding()))},
         {"date", std::to_string(static_cast<unsigned>(date.day()))},
         {"month", word("server.month." + std::to_string(static_cast<unsigned>(date.month())))},
         {"time", clock}}});
}

std::string Words::text(const Message& message) const {
    Message local = referral::with_care_in_words(message, catalogue_);
    for (auto& [name, value] : local.values) {
        if (const auto instant = as_instant(value)) {
            value = clock(*instant);
        }
    }
    return catalogue_.text(local);
}

std::vector<std::string> Words::texts(const std::vector<Message>& messages) const {
    std::vector<std::string> all;
    all.reserve(messages.size());
    for (const Message& message : messages) {
        all.push_back(text(message));
    }
    return all;
}

std::string Words::capability(triage::Capability capability) const {
    return referral::care_in_words(capability, catalogue_);
}

std::string Words::capabilities(triage::CapabilitySet any_of) const {
    return referral::care_in_words(any_of, catalogue_);
}

}  // namespace waybourne::server
