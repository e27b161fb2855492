#include "facilities/register_file.hpp"

#include <array>
#include <fstream>
#include <sstream>

#include "facilities/internal/import_rows.hpp"
#include "facilities/internal/strict_json.hpp"
#include "vocabulary/nearest_name.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::facilities {

namespace {

const std::array<std::string, 6> collection_names{"type", "features", "holidays",
                                                  "name", "bbox",     "description"};
const std::array<std::string, 5> feature_names{"type", "id", "geometry", "properties", "bbox"};
const std::array<std::string, 3> geometry_names{"type", "coordinates", "bbox"};
const std::array<std::string, 10> facility_names{
    "id",        "name",     "kind", "phones", "time_zone", "hours", "hours_confirmed_at",
    "resources", "services", "draft"};
const std::array<std::string, 4> resource_names{"kind", "hours", "on_call", "call_in_minutes"};
const std::array<std::string, 4> service_names{"hours", "needs", "lead_minutes",
                                               "last_performed_at"};
const std::array<std::string, 2> need_names{"resource", "units"};

const std::vector<std::string>& capability_names() {
    static const std::vector<std::string> names = [] {
        std::vector<std::string> all;
        for (std::size_t i = 0; i < triage::capability_count; ++i) {
            all.emplace_back(triage::to_name(static_cast<triage::Capability>(i)));
        }
        return all;
    }();
    return names;
}

/// Makes a facility of one feature; what is wrong goes to `errors`, with its path in the feature.
class FeatureReader {
public:
    FeatureReader(const Json& feature, std::vector<FieldError>& errors)
        : feature_(feature), errors_(errors) {}

    Facility read() {
        if (!feature_.is_object() || feature_.value("type", Json()) != "Feature") {
            errors_.push_back({"", "is not a GeoJSON Feature"});
            return made_;
        }
        Members members(feature_, "", feature_names, errors_);
        geometry(members.object("geometry"), members);
        const Json* properties = members.object("properties");
        if (properties == nullptr) {
            members.note("properties", "is needed: an object");
            return made_;
        }
        Members own(*properties, "properties/", facility_names, errors_);
        const auto id = members.has("id") ? members.text("id") : own.text("id");
        if (members.has("id") && own.has("id")) {
            own.note("id", "stands in the feature and in its properties");
        }
        if (own.has("draft")) {
            own.note("draft",
                     "a draft that nobody has confirmed: write the services, hours and phones that "
                     "the place itself names, then take 'draft' out");
        }
        made_.id = FacilityId(id.value_or(""));
        made_.name = own.needed_text("name");
        made_.kind = own.text("kind").value_or("");
        made_.time_zone = own.needed_text("time_zone");
        made_.hours = own.hours("hours");
        made_.hours_confirmed_at = own.instant("hours_confirmed_at");
        phones(own);
        resources(own);
        services(own);
        return made_;
    }

private:
    void geometry(const Json* object, Members& feature) {
        if (object == nullptr) {
            feature.note("geometry", "is needed: a point");
            return;
        }
        Members members(*object, "geometry/", geometry_names, errors_);
        const Json* pair = members.array("coordinates");
        const bool is_point = object->value("type", Json()) == "Point" && pair != nullptr &&
                              (pair->size() == 2 || pair->size() == 3) && (*pair)[0].is_number() &&
                              (*pair)[1].is_number();
        if (!is_point) {
            members.note("coordinates", R"(a "Point" with [longitude, latitude] is needed)");
            return;
        }
        const auto longitude = (*pair)[0].get<double>();
        const auto latitude = (*pair)[1].get<double>();
        const auto north = problem_of_coordinate("latitude", latitude, 90, longitude);
        const auto east = problem_of_coordinate("longitude", longitude, 180, latitude);
        for (const auto& problem : {east, north}) {
            if (problem) {
                members.note("coordinates", *problem);
            }
        }
        if (!north && !east) {
            made_.point = GeoPoint{Latitude{latitude}, Longitude{longitude}};
        }
    }

    void phones(Members& own) {
        const Json* list = own.array("phones");
        for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
            if (!(*list)[i].is_string()) {
                own.note("phones", "phone " + std::to_string(i + 1) + " is not a text");
                continue;
            }
            made_.phones.push_back((*list)[i].get<std::string>());
        }
    }

    /// Calls `read` with the name and members of each object in an object.
    template <typename Read>
    void each(Members& own, const std::string& list_name, std::span<const std::string> known,
              Read read) {
        const Json* list = own.object(list_name);
        if (list == nullptr) {
            return;
        }
        for (const auto& [name, value] : list->items()) {
            const std::string path = own.path(list_name) + "/" + pointer_part(name);
            if (!value.is_object()) {
                errors_.push_back({path, "is not an object"});
                continue;
            }
            Members members(value, path + "/", known, errors_);
            read(name, path, members);
        }
    }

    void resources(Members& own) {
        each(own, "resources", resource_names,
             [&](const std::string& name, const std::string&, Members& members) {
                 Resource resource;
                 resource.name = name;
                 const std::string kind = members.needed_text("kind");
                 const auto found = find_resource_kind(kind);
                 if (!found && !kind.empty()) {
                     members.note("kind", "'" + shortened(kind) +
                                              "' is none of staff, stock, blood, equipment, "
                                              "power, space");
                 }
                 resource.kind = found.value_or(ResourceKind::staff);
                 resource.hours = members.hours("hours");
                 resource.on_call = members.hours("on_call");
                 resource.call_in = members.minutes("call_in_minutes").value_or(Seconds{0});
                 made_.resources.push_back(std::move(resource));
             });
    }

    void services(Members& own) {
        each(own, "services", service_names,
             [&](const std::string& name, const std::string& path, Members& members) {
                 const auto capability = triage::find_capability(name);
                 if (!capability) {
                     const auto nearest = nearest_name(name, capability_names());
                     errors_.push_back({path, "is not a capability" +
                                                  (nearest ? "; did you mean '" + *nearest + "'?"
                                                           : std::string())});
                     return;
                 }
                 Service service;
                 service.capability = *capability;
                 service.hours = members.hours("hours");
                 service.lead = members.minutes("lead_minutes").value_or(Seconds{0});
                 service.last_performed_at = members.instant("last_performed_at");
                 needs(members, service);
                 made_.services.push_back(std::move(service));
             });
    }

    void needs(Members& members, Service& service) {
        const Json* list = members.array("needs");
        for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
            const Json& given = (*list)[i];
            const std::string path = members.path("needs") + "/" + std::to_string(i);
            if (given.is_string()) {
                service.needs.push_back({given.get<std::string>(), 1});
            } else if (given.is_object()) {
                Members need(given, path + "/", need_names, errors_);
                service.needs.push_back(
                    {need.needed_text("resource"), need.count("units").value_or(1)});
            } else {
                errors_.push_back(
                    {path, R"(is neither "name" nor {"resource": "name", "units": 2})"});
            }
        }
    }

    const Json& feature_;
    std::vector<FieldError>& errors_;
    Facility made_;
};

/// `2026-12-25`
std::optional<LocalDay> find_date(const Json& given) {
    try {
        const Instant midnight = parse_rfc3339(given.get<std::string>() + "T00:00:00Z");
        return LocalDay{std::chrono::floor<std::chrono::days>(midnight).time_since_epoch()};
    } catch (const std::exception&) {
        return std::nullopt;
    }
}

Holidays holidays_of(Members& collection) {
    Holidays holidays;
    const Json* list = collection.array("holidays");
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        const auto date = find_date((*list)[i]);
        if (date) {
            holidays.push_back(*date);
        } else {
            collection.note("holidays",
                            "entry " + std::to_string(i + 1) + " is not a date such as 2026-12-25");
        }
    }
    return holidays;
}

ReadRow read_feature(const Json& feature, std::size_t row) {
    std::vector<FieldError> errors;
    ReadRow read;
    read.row = row;
    read.facility = FeatureReader(feature, errors).read();
    for (FieldError& error : errors) {
        read.problems.push_back(
            {row, read.facility.name, std::move(error.pointer), std::move(error.detail)});
    }
    return read;
}

/// `#/services/uterotonics` → `properties/services/uterotonics`
std::string path_of(const std::string& pointer) {
    if (pointer == "#/id") {
        return "id";
    }
    return pointer == "#/point" ? "geometry/coordinates" : "properties" + pointer.substr(1);
}

std::string pointer_of(const RowRemark& remark) {
    const std::string feature = "#/features/" + std::to_string(remark.row - 1);
    return remark.column.empty() ? feature : feature + "/" + remark.column;
}

std::string read_whole_file(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    std::ostringstream text;
    if (!file || !(text << file.rdbuf())) {
        throw InputError("cannot read '" + path + "'");
    }
    return std::move(text).str();
}

}  // namespace

Import read_facilities_geojson(std::string_view text, const ImportOptions& options) {
    check_size(text);
    const Json file = parse_strictly(text);
    if (!file.is_object() || file.value("type", Json()) != "FeatureCollection" ||
        !file.contains("features") || !file["features"].is_array()) {
        throw InputError("nothing was imported: this is no GeoJSON FeatureCollection",
                         {{"#/type", R"("FeatureCollection" with a list "features" is needed)"}});
    }
    std::vector<FieldError> errors;
    Members collection(file, "#/", collection_names, errors);
    Holidays holidays = holidays_of(collection);
    if (!errors.empty()) {
        throw InputError("nothing was imported: the file itself is wrong", errors);
    }
    std::vector<ReadRow> rows;
    for (const Json& feature : file["features"]) {
        rows.push_back(read_feature(feature, rows.size() + 1));
    }
    Import made = to_import(std::move(rows), options.bad_rows, path_of, pointer_of);
    made.holidays = std::move(holidays);
    return made;
}

Import load_facilities(const std::string& path, const ImportOptions& options) {
    if (path.ends_with(".csv")) {
        return read_facilities_csv(read_whole_file(path), options);
    }
    if (path.ends_with(".geojson") || path.ends_with(".json")) {
        return read_facilities_geojson(read_whole_file(path), options);
    }
    throw InputError("'" + path + "' is neither .geojson, .json nor .csv");
}

std::vector<Report> load_reports(const std::string& path) {
    return read_reports(read_whole_file(path));
}

}  // namespace waybourne::facilities
