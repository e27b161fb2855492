#pragma once
/// A district's folder in words: what `district.json` says of it.

#include <array>
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "routing/road_conditions.hpp"
#include "vocabulary/time.hpp"
#include "vocabulary/time_zone.hpp"

namespace waybourne::server {

/// The languages of the catalogues that come with the program: each room's `texts.<language>.json`.
inline constexpr std::array<std::string_view, 3> catalogue_languages{"en", "fr", "sw"};

/// A day of every year, as month × 32 + day.
struct DayOfYear {
    int month_and_day = 0;
    auto operator<=>(const DayOfYear&) const = default;
};

/// Roads are wet from the first day to the last, both included; may go over the turn of the year.
struct WetSeason {
    DayOfYear from;
    DayOfYear until;
    bool operator==(const WetSeason&) const = default;
};

/// Local clock times between which there is light to drive by.
struct Daylight {
    std::chrono::minutes from{6 * 60};
    std::chrono::minutes until{18 * 60};
    bool operator==(const Daylight&) const = default;
};

struct District {
    std::string name;
    std::string about;
    std::string time_zone = "Etc/UTC";
    /// In which notes and messages are written, and answers unless somebody asks in another: one of
    /// `catalogue_languages`.
    std::string language = "en";
    /// The moment its reports were written for; none for a real district.
    std::optional<Instant> now;
    /// The times of its reports move with the clock, so that an invented district is as fresh
    /// whenever it is started as it was at `now`.
    bool times_move_with_the_clock = false;
    /// None: the roads count as dry all year unless a request says otherwise.
    std::optional<WetSeason> wet_season;
    Daylight daylight;
    /// Where pictures of the map may be fetched from, with `{z}`, `{x}` and `{y}`; empty: the page
    /// draws its map from our own roads alone, and nothing leaves the server.
    std::string map_tiles = {};
    /// What is in which file: `roads`, `facilities`, `reports` …
    std::map<std::string, std::string> files;
    bool operator==(const District&) const = default;
};

/// The road conditions to expect at a moment, by season and daylight.
routing::RoadConditions expected_conditions(const District& district, const TimeZone& zone,
                                            Instant at);

/// Wet where either is wet, night where either is night: no road is quicker then.
routing::RoadConditions worse_of(const routing::RoadConditions& a,
                                 const routing::RoadConditions& b);

/// The first moment after `after` at which worse road conditions are to be expected than `than`:
/// dusk, or the wet season's first midnight; none where nothing worse comes.
/// @param than what is counted already; no better than what is to be expected at `after`
std::optional<Instant> next_worse(const District& district, const TimeZone& zone,
                                  const routing::RoadConditions& than, Instant after);

}  // namespace waybourne::server
