#include "server/words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>

#include "vocabulary/error.hpp"

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

std::string span_words(Seconds span) {
    const auto minutes = std::max<std::int64_t>(1, ceil_minutes(span).count());
    const auto hours = minutes / 60;
    const auto rest = minutes % 60;
    const auto counted = [](std::int64_t count, const char* unit) {
        return fmt::format("{} {}{}", count, unit, count == 1 ? "" : "s");
    };
    if (hours == 0) {
        return counted(minutes, "minute");
    }
    return rest == 0 ? counted(hours, "hour")
                     : counted(hours, "hour") + " " + counted(rest, "minute");
}

std::string Words::clock(Instant instant) const {
    constexpr std::array<const char*, 7> days{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
    constexpr std::array<const char*, 12> months{"January",   "February", "March",    "April",
                                                 "May",       "June",     "July",     "August",
                                                 "September", "October",  "November", "December"};
    const std::chrono::sys_seconds local{zone_.local(instant).since_1970};
    const std::chrono::sys_seconds today{zone_.local(now_).since_1970};
    const auto day = std::chrono::floor<std::chrono::days>(local);
    const std::chrono::hh_mm_ss time{local - day};
    std::string clock = fmt::format("{:02}:{:02}", time.hours().count(), time.minutes().count());
    if (day == std::chrono::floor<std::chrono::days>(today)) {
        return clock;
    }
    const std::chrono::year_month_day date{day};
    return fmt::format("{} {} {} {}", days.at(std::chrono::weekday{day}.c_encoding()),
                       static_cast<unsigned>(date.day()),
                       months.at(static_cast<unsigned>(date.month()) - 1), clock);
}

std::string Words::text(const Message& message) const {
    Message local = message;
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
    const std::string id = "triage.capability." + std::string(to_name(capability));
    return catalogue_.text(std::string_view{id});
}

std::string Words::capabilities(triage::CapabilitySet any_of) const {
    std::string all;
    for (const triage::Capability member : any_of.members()) {
        all += (all.empty() ? "" : " or ") + capability(member);
    }
    return all;
}

}  // namespace waybourne::server
