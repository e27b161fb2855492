#include "server/pack/pack_content.hpp"

#include "facilities/register_file.hpp"
#include "routing/network_file.hpp"
#include "server/json/district.hpp"
#include "server/json/object_reader.hpp"
#include "server/json/road_change.hpp"
#include "server/problem.hpp"
#include "triage/protocol_file.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;

constexpr double most_seconds = 1e12;
constexpr double most_offset_s = 24 * 3600;
constexpr double most_counted = 1e15;
constexpr auto any_number = static_cast<std::size_t>(-1);

/// What `read` makes of a section; what is wrong with its content is damage to the pack.
template <typename Read>
auto from_section(const PackSections& sections, const char* name, const Read& read) {
    const std::string_view text = section(sections, name);
    try {
        return read(text);
    } catch (const InputError&) {
        throw DataError("the pack's " + std::string(name) +
                        " is damaged: " + to_line(to_problem(std::current_exception())));
    }
}

/// `[[from, offset], …]`, each in seconds and until the next begins.
std::vector<OffsetPeriod> read_periods(ObjectReader& zone, Errors& errors) {
    std::vector<OffsetPeriod> periods;
    const auto* list = zone.list("periods", any_number);
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        ObjectReader reader{(*list)[i], zone.pointer_to("periods") + "/" + std::to_string(i),
                            errors};
        reader.require("from_s");
        reader.require("offset_s");
        const auto whole = [](std::optional<double> number) {
            return Seconds{static_cast<std::int64_t>(number.value_or(0))};
        };
        const Instant from{whole(reader.number("from_s", {-most_seconds, most_seconds}))};
        const Seconds offset = whole(reader.number("offset_s", {-most_offset_s, most_offset_s}));
        reader.finish();
        if (!periods.empty() && from <= periods.back().from) {
            reader.refuse("from_s", "is out of order");
        } else if (!periods.empty()) {
            periods.back().until = from;
        }
        periods.push_back({from, from, offset});
    }
    if (periods.empty()) {
        zone.refuse("periods", "is empty");
    }
    return periods;
}

std::vector<TimeZone> read_zones(ObjectReader& body, Errors& errors) {
    std::vector<TimeZone> zones;
    const auto* list = body.list("time_zones", any_number);
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        ObjectReader zone{(*list)[i], body.pointer_to("time_zones") + "/" + std::to_string(i),
                          errors};
        zone.require("name");
        std::string name = zone.text("name").value_or("");
        auto periods = read_periods(zone, errors);
        zone.finish();
        if (!periods.empty()) {
            zones.emplace_back(std::move(name), std::move(periods));
        }
    }
    return zones;
}

/// What no file of the district says.
struct About {
    std::int64_t version = 0;
    Instant made_at{};
    std::string map_sha256;
    std::vector<TimeZone> zones;
    std::vector<routing::RoadChange> changes;
};

About read_about(std::string_view text) {
    return parse_body(text, [&](ObjectReader& body, std::vector<FieldError>& errors) {
        About about;
        for (const char* name : {"version", "made_at", "map_sha256", "time_zones", "changes"}) {
            body.require(name);
        }
        about.version =
            static_cast<std::int64_t>(body.number("version", {0, most_counted}).value_or(0));
        about.made_at = body.instant("made_at").value_or(Instant{});
        about.map_sha256 = body.text("map_sha256").value_or("");
        about.zones = read_zones(body, errors);
        const auto* changes = body.list("changes", any_number);
        for (std::size_t i = 0; changes != nullptr && i < changes->size(); ++i) {
            ObjectReader reader{(*changes)[i], body.pointer_to("changes") + "/" + std::to_string(i),
                                errors};
            about.changes.push_back(parse_change(reader, errors));
            reader.finish();
        }
        return about;
    });
}

About about_of(const PackSections& sections) {
    return from_section(sections, pack_section::about, &read_about);
}

facilities::FacilityRegister read_register(const PackSections& sections) {
    auto import = from_section(sections, pack_section::facilities, [](std::string_view text) {
        return facilities::read_facilities_geojson(text);
    });
    return from_section(sections, pack_section::reports, [&](std::string_view text) {
        return facilities::FacilityRegister{std::move(import.facilities), import.holidays}.with(
            facilities::read_reports(text));
    });
}

std::shared_ptr<const Roads> read_roads(const PackSections& sections, const About& about,
                                        const facilities::FacilityRegister& places,
                                        std::shared_ptr<const std::string> keeper) {
    const std::string_view bytes = section(sections, pack_section::roads);
    const routing::NetworkFile file{
        "the pack's roads",
        {reinterpret_cast<const std::byte*>(bytes.data()), bytes.size()},
        std::move(keeper)};
    file.verify();
    RoadSources sources;
    sources.network = file.network();
    sources.hierarchy = file.hierarchy();
    sources.speeds = std::make_shared<const routing::SpeedTable>(
        from_section(sections, pack_section::speeds, &routing::parse_speed_table));
    sources.changes = about.changes;
    for (const facilities::Facility& place : places.facilities()) {
        sources.facility_points.push_back(place.point);
    }
    return std::make_shared<const Roads>(std::move(sources), 1);
}

void read_texts(const PackSections& sections, Snapshot& snapshot) {
    bool is_first = true;
    for (const auto& [name, text] : sections) {
        if (!name.starts_with(pack_section::texts_prefix)) {
            continue;
        }
        Catalogue catalogue = from_section(sections, name.c_str(), &parse_catalogue);
        if (is_first) {
            snapshot.catalogue = std::move(catalogue);
        } else {
            snapshot.other_languages.push_back(std::move(catalogue));
        }
        is_first = false;
    }
    if (is_first) {
        throw DataError("the pack has no texts");
    }
}

}  // namespace

std::vector<TimeZone> zones_of_pack(const PackSections& sections) {
    return about_of(sections).zones;
}

std::shared_ptr<const Snapshot> snapshot_of_pack(std::shared_ptr<const std::string> payload) {
    const PackSections sections = read_sections(*payload);
    const About about = about_of(sections);
    auto snapshot = std::make_shared<Snapshot>();
    snapshot->district_text = section(sections, pack_section::district);
    snapshot->district = from_section(sections, pack_section::district, &parse_district);
    snapshot->zone = from_section(sections, pack_section::district, [&](std::string_view) {
        return load_time_zone(snapshot->district.time_zone);
    });
    snapshot->protocol_text = section(sections, pack_section::protocol);
    snapshot->protocol = from_section(sections, pack_section::protocol, &triage::parse_protocol);
    read_texts(sections, *snapshot);
    snapshot->facilities = read_register(sections);
    snapshot->report_count = snapshot->facilities.report_count();
    snapshot->speeds_text = section(sections, pack_section::speeds);
    snapshot->roads = read_roads(sections, about, snapshot->facilities, std::move(payload));
    snapshot->map_sha256 = about.map_sha256;
    snapshot->version = about.version;
    snapshot->made_at = about.made_at;
    return snapshot;
}

}  // namespace waybourne::server
