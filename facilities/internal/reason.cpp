#include "facilities/internal/reason.hpp"

#include <algorithm>
#include <array>
#include <cstdio>

#include "vocabulary/local_date.hpp"

namespace waybourne::facilities {

namespace {

constexpr std::array<std::string_view, 7> day_suffixes{
    "_sunday", "_monday", "_tuesday", "_wednesday", "_thursday", "_friday", "_saturday"};

std::string iso_date(LocalTime local) {
    const std::chrono::year_month_day date{day_of(local)};
    std::array<char, 40> text{};
    std::snprintf(text.data(), text.size(), "%04d-%02u-%02u", static_cast<int>(date.year()),
                  static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
    return text.data();
}

/// Below this, "until 07:00" can only mean the next one.
constexpr Seconds plain_time_within = 12h;
/// Below this, "until Monday 08:00" can only mean the next one.
constexpr Seconds weekday_within = 6 * 24h;

}  // namespace

std::string in_words(std::string_view name) {
    std::string words(name);
    std::replace(words.begin(), words.end(), '_', ' ');
    return words;
}

std::string clock_time(Instant instant, const TimeZone& zone) {
    const Seconds shown = time_of_day(zone.local(instant));
    const auto minutes = std::chrono::floor<std::chrono::minutes>(shown).count();
    std::array<char, 48> text{};
    std::snprintf(text.data(), text.size(), "%02ld:%02ld", static_cast<long>(minutes / 60),
                  static_cast<long>(minutes % 60));
    return text.data();
}

Message until(const std::string& id, const std::string& what, Instant end, const Telling& telling) {
    Message message{id, {{"what", what}, {"time", clock_time(end, *telling.zone)}}};
    const Seconds ahead = end - telling.now;
    if (ahead < plain_time_within) {
        return message;
    }
    const LocalTime local = telling.zone->local(end);
    if (ahead < weekday_within) {
        const std::chrono::weekday weekday{day_of(local)};
        message.id += day_suffixes[weekday.c_encoding()];
        return message;
    }
    message.id += "_date";
    message.values.emplace_back("date", iso_date(local));
    return message;
}

Message age(const std::string& id, const std::string& what, Instant since, const Telling& telling) {
    const Seconds span = std::max(telling.now - since, Seconds{0});
    if (span < 2h) {
        const auto minutes = std::chrono::floor<std::chrono::minutes>(span).count();
        return {id + "_minutes", {{"what", what}, {"count", std::to_string(minutes)}}};
    }
    if (span < 48h) {
        const auto hours = std::chrono::floor<std::chrono::hours>(span).count();
        return {id + "_hours", {{"what", what}, {"count", std::to_string(hours)}}};
    }
    const auto days = std::chrono::floor<std::chrono::days>(span).count();
    return {id + "_days", {{"what", what}, {"count", std::to_string(days)}}};
}

Message takes(const std::string& id, const std::string& what, Seconds span) {
    return {id, {{"what", what}, {"minutes", std::to_string(ceil_minutes(span).count())}}};
}

Message why_blocked(const Resource& resource, int units, const Finding& finding,
                    const Telling& telling) {
    const Report& report = *finding.report;
    const std::string what = in_words(resource.name);
    if (report.is_ready && report.expires_at) {
        return {"facilities.out_of_date", {{"what", what}}};
    }
    if (report.units && *report.units < units) {
        return *report.units == 0 ? Message{"facilities.none_left", {{"what", what}}}
                                  : Message{"facilities.too_few_left",
                                            {{"what", what},
                                             {"count", std::to_string(*report.units)},
                                             {"needed", std::to_string(units)}}};
    }
    if (report.until) {
        return until("facilities.none_until", what, *report.until, telling);
    }
    switch (resource.kind) {
        case ResourceKind::power: {
            const std::string since = clock_time(report.since.value_or(report.at), *telling.zone);
            if (report.backup_until) {
                return {"facilities.out_with_backup",
                        {{"what", what},
                         {"time", since},
                         {"backup", clock_time(*report.backup_until, *telling.zone)}}};
            }
            return {"facilities.out_since", {{"what", what}, {"time", since}}};
        }
        case ResourceKind::equipment:
            return age("facilities.not_working", what, report.at, telling);
        default:
            return age("facilities.none", what, report.at, telling);
    }
}

Message why_unconfirmed(const std::string& what, const Finding& finding, const Telling& telling) {
    switch (finding.claim) {
        case Claim::never_heard:
            return {"facilities.never_reported", {{"what", what}}};
        case Claim::over:
            return until("facilities.nothing_known_after", what, *finding.report->until, telling);
        case Claim::was_not_ready:
            return age("facilities.last_not_ready", what, *finding.said_at, telling);
        default:
            return age("facilities.last_confirmed", what, *finding.said_at, telling);
    }
}

}  // namespace waybourne::facilities
