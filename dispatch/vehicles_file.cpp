#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "dispatch/vehicle_file.hpp"
#include "vocabulary/nearest_name.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::dispatch {

namespace {

using nlohmann::json;

constexpr std::array vehicle_names{"id",
                                   "name",
                                   "base",
                                   "kind",
                                   "means",
                                   "terrain",
                                   "seats",
                                   "kit",
                                   "shift",
                                   "roster",
                                   "mobilisation_minutes",
                                   "mobilisation_by_hour",
                                   "busy",
                                   "escort_skills",
                                   "turnaround_minutes",
                                   "last_position",
                                   "phones"};

constexpr int longest_minutes = 24 * 60;

/// Reads one object; what is wrong is noted and reads as nothing.
class Reader {
public:
    Reader(const json& object, std::string path, std::vector<FieldError>& errors)
        : object_(object), path_(std::move(path)), errors_(errors) {}

    void note(const std::string& name, const std::string& detail) {
        errors_.push_back({path_ + "/" + name, detail});
    }
    template <typename Names>
    void refuse_others(const Names& known) {
        const std::vector<std::string> names(known.begin(), known.end());
        for (const auto& [name, value] : object_.items()) {
            if (std::find(names.begin(), names.end(), name) == names.end()) {
                const auto meant = nearest_name(name, names);
                note(name, "is not known" + (meant ? "; did you mean '" + *meant + "'?" : ""));
            }
        }
    }
    const json* find(const std::string& name) const {
        const auto found = object_.find(name);
        return found == object_.end() || found->is_null() ? nullptr : &*found;
    }
    std::string text(const std::string& name, bool is_needed = true) {
        const json* value = find(name);
        if (value != nullptr && value->is_string() && !value->get<std::string>().empty()) {
            return value->get<std::string>();
        }
        if (value != nullptr || is_needed) {
            note(name, "a text is needed");
        }
        return {};
    }
    int count(const std::string& name, int otherwise, int most) {
        const json* value = find(name);
        if (value == nullptr) {
            return otherwise;
        }
        if (!value->is_number_integer() || value->get<double>() < 0 ||
            value->get<double>() > most) {
            note(name, value->dump() + " is not a whole number from 0 to " + std::to_string(most));
            return otherwise;
        }
        return value->get<int>();
    }
    std::optional<Instant> instant(const std::string& name) {
        const std::string given = text(name);
        try {
            return given.empty() ? std::nullopt : std::optional{parse_rfc3339(given)};
        } catch (const InputError& error) {
            note(name, error.what());
            return std::nullopt;
        }
    }
    std::optional<GeoPoint> point() {
        const json* latitude = find("latitude");
        const json* longitude = find("longitude");
        if (latitude == nullptr || longitude == nullptr || !latitude->is_number() ||
            !longitude->is_number()) {
            note("latitude", "latitude and longitude are needed, in degrees");
            return std::nullopt;
        }
        try {
            return GeoPoint{Latitude{latitude->get<double>()}, Longitude{longitude->get<double>()}};
        } catch (const InputError& error) {
            note("latitude", error.what());
            return std::nullopt;
        }
    }
    /// The parts of a list, each with its place; a note when it is no list.
    std::vector<std::pair<const json*, std::string>> list(const std::string& name) {
        std::vector<std::pair<const json*, std::string>> parts;
        const json* value = find(name);
        if (value != nullptr && !value->is_array()) {
            note(name, "a list is needed");
        } else if (value != nullptr) {
            for (const json& part : *value) {
                parts.emplace_back(&part, name + "/" + std::to_string(parts.size()));
            }
        }
        return parts;
    }
    /// The named things of a list.
    template <typename Find, typename Take>
    void names(const std::string& name, std::string_view what, const Find& find_name,
               const Take& take) {
        for (const auto& [part, place] : list(name)) {
            const std::string given = part->is_string() ? part->template get<std::string>() : "";
            const auto found = find_name(given);
            if (found) {
                take(*found);
            } else {
                note(place, shortened(part->dump()) + " is not a known " + std::string{what});
            }
        }
    }
    const std::string& path() const { return path_; }
    std::vector<FieldError>& errors() { return errors_; }

private:
    const json& object_;
    std::string path_;
    std::vector<FieldError>& errors_;
};

std::optional<routing::Means> find_vehicle_means(std::string_view name) {
    for (const auto means : {routing::Means::motorcycle, routing::Means::car,
                             routing::Means::four_wheel_drive, routing::Means::boat}) {
        if (routing::to_name(means) == name) {
            return means;
        }
    }
    return std::nullopt;
}

void read_base(Reader& reader, Vehicle& vehicle) {
    const json* base = reader.find("base");
    if (base != nullptr && base->is_object()) {
        Reader place(*base, reader.path() + "/base", reader.errors());
        place.refuse_others(std::array{"latitude", "longitude"});
        if (const auto point = place.point()) {
            vehicle.base = *point;
        }
        return;
    }
    vehicle.base = FacilityId(reader.text("base"));
}

void read_what_it_is(Reader& reader, Vehicle& vehicle) {
    const std::string kind = reader.text("kind");
    const std::string means = reader.text("means");
    const auto known_kind = find_vehicle_kind(kind);
    const auto known_means = find_vehicle_means(means);
    if (!known_kind && !kind.empty()) {
        reader.note("kind", "'" + shortened(kind) + "' is not a known kind of vehicle");
    }
    if (!known_means && !means.empty()) {
        reader.note("means", "'" + shortened(means) +
                                 "' is none of motorcycle, car, four_wheel_drive, boat");
    }
    vehicle.kind = known_kind.value_or(vehicle.kind);
    vehicle.means = known_means.value_or(vehicle.means);
    if (const json* seats = reader.find("seats"); seats != nullptr && seats->is_object()) {
        Reader inside(*seats, reader.path() + "/seats", reader.errors());
        inside.refuse_others(std::array{"lying", "sitting"});
        constexpr int most = 100;
        vehicle.seats = {inside.count("lying", 0, most), inside.count("sitting", 0, most)};
    } else if (seats != nullptr) {
        reader.note("seats", "lying and sitting are needed");
    }
    if (vehicle.seats.lying + vehicle.seats.sitting == 0) {
        reader.note("seats", "there is no place for her");
    }
}

void read_what_is_aboard(Reader& reader, Vehicle& vehicle) {
    reader.names("terrain", "terrain", find_terrain,
                 [&](Terrain terrain) { vehicle.terrain.insert(terrain); });
    reader.names(
        "kit", "kit", [](std::string_view name) { return triage::find_capability(name); },
        [&](triage::Capability capability) { vehicle.kit.insert(capability); });
    reader.names("escort_skills", "skill", find_skill,
                 [&](Skill skill) { vehicle.escort_skills.insert(skill); });
    for (const auto& [phone, place] : reader.list("phones")) {
        if (phone->is_string()) {
            vehicle.phones.push_back(phone->get<std::string>());
        } else {
            reader.note(place, "a text is needed");
        }
    }
}

void read_mobilisation(Reader& reader, Vehicle& vehicle) {
    if (reader.find("mobilisation_minutes") == nullptr) {
        reader.note("mobilisation_minutes", "is needed: from the call until the wheels turn");
    }
    vehicle.mobilisation.fill(
        std::chrono::minutes{reader.count("mobilisation_minutes", 0, longest_minutes)});
    for (const auto& [part, place] : reader.list("mobilisation_by_hour")) {
        if (!part->is_object()) {
            reader.note(place, "from_hour, until_hour and minutes are needed");
            continue;
        }
        Reader span(*part, reader.path() + "/" + place, reader.errors());
        span.refuse_others(std::array{"from_hour", "until_hour", "minutes"});
        const auto from = static_cast<std::size_t>(span.count("from_hour", 0, 23));
        const auto until = static_cast<std::size_t>(span.count("until_hour", 24, 24));
        const std::chrono::minutes takes{span.count("minutes", 0, longest_minutes)};
        if (from == until) {
            span.note("until_hour", "the span ends when it begins");
        }
        for (std::size_t hour = from; hour != until % 24 || hour == from; hour = (hour + 1) % 24) {
            vehicle.mobilisation.at(hour) = takes;
            if ((hour + 1) % 24 == until % 24) {
                break;
            }
        }
    }
}

void read_shift(Reader& reader, Vehicle& vehicle) {
    if (const std::string shift = reader.text("shift", false); !shift.empty()) {
        try {
            vehicle.shift = facilities::parse_opening_hours(shift);
        } catch (const InputError& error) {
            reader.note("shift", error.what());
        }
    }
    for (const auto& [part, place] : reader.list("roster")) {
        if (!part->is_object()) {
            reader.note(place, "from and until are needed");
            continue;
        }
        Reader duty(*part, reader.path() + "/" + place, reader.errors());
        duty.refuse_others(std::array{"from", "until"});
        const auto from = duty.instant("from");
        const auto until = duty.instant("until");
        if (from && until && *until <= *from) {
            duty.note("until", "the shift ends at " + to_rfc3339(*until) +
                                   ", which is not after it begins at " + to_rfc3339(*from));
        } else if (from && until) {
            vehicle.roster.push_back({*from, *until});
        }
    }
}

void read_state(Reader& reader, Vehicle& vehicle) {
    vehicle.turnaround =
        std::chrono::minutes{reader.count("turnaround_minutes", 0, longest_minutes)};
    if (const json* given = reader.find("last_position"); given != nullptr && given->is_object()) {
        Reader position(*given, reader.path() + "/last_position", reader.errors());
        position.refuse_others(std::array{"latitude", "longitude", "at"});
        const auto point = position.point();
        const auto at = position.instant("at");
        if (point && at) {
            vehicle.last_position = Position{*point, *at};
        }
    } else if (given != nullptr) {
        reader.note("last_position", "latitude, longitude and at are needed");
    }
    if (const json* given = reader.find("busy"); given != nullptr && given->is_object()) {
        Reader busy(*given, reader.path() + "/busy", reader.errors());
        busy.refuse_others(std::array{"until", "because"});
        const auto until = busy.instant("until");
        const auto because = find_hold(busy.text("because"));
        if (!because) {
            busy.note("because",
                      "none of rest, refuelling, repair, mission, breakdown, no_fuel, taken");
        } else if (until) {
            vehicle.busy = Busy{*until, *because};
        }
    } else if (given != nullptr) {
        reader.note("busy", "until and because are needed");
    }
}

bool is_plain_id(std::string_view id) {
    return !id.empty() &&
           id.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789_-") == std::string_view::npos;
}

Vehicle read_vehicle(const json& given, const std::string& path, std::vector<FieldError>& errors) {
    Vehicle vehicle;
    if (!given.is_object()) {
        errors.push_back({path, "is not an object"});
        return vehicle;
    }
    Reader reader(given, path, errors);
    reader.refuse_others(vehicle_names);
    const std::string id = reader.text("id");
    if (!id.empty() && !is_plain_id(id)) {
        reader.note("id", "'" + shortened(id) + "' is not made of a-z, 0-9, - and _");
    }
    vehicle.id = VehicleId(id);
    vehicle.name = reader.text("name");
    read_base(reader, vehicle);
    read_what_it_is(reader, vehicle);
    read_what_is_aboard(reader, vehicle);
    read_mobilisation(reader, vehicle);
    read_shift(reader, vehicle);
    read_state(reader, vehicle);
    return vehicle;
}

}  // namespace

std::vector<Vehicle> read_vehicles(std::string_view text) {
    const json file = json::parse(text, nullptr, false);
    if (!file.is_object() || !file.contains("vehicles") || !file["vehicles"].is_array()) {
        throw InputError("this is no file of vehicles",
                         {{"#/vehicles", "a list of vehicles is needed"}});
    }
    std::vector<FieldError> errors;
    Reader(file, "#", errors).refuse_others(std::array{"vehicles"});
    std::vector<Vehicle> vehicles;
    std::map<VehicleId, std::size_t> known;
    for (const json& given : file["vehicles"]) {
        const std::string path = "#/vehicles/" + std::to_string(vehicles.size());
        vehicles.push_back(read_vehicle(given, path, errors));
        const VehicleId& id = vehicles.back().id;
        if (!id.value().empty() && !known.emplace(id, vehicles.size() - 1).second) {
            errors.push_back({path + "/id", "'" + id.value() + "' stands twice"});
        }
    }
    if (!errors.empty()) {
        throw InputError(std::to_string(errors.size()) + " problems in the vehicles", errors);
    }
    return vehicles;
}

std::vector<FieldError> problems_of(std::span<const Vehicle> vehicles, const IsOnTheMap& on_the_map,
                                    Instant now, const VehicleSettings& settings) {
    std::vector<FieldError> problems;
    for (std::size_t index = 0; index < vehicles.size(); ++index) {
        const Vehicle& vehicle = vehicles[index];
        const std::string path = "#/vehicles/" + std::to_string(index);
        const bool uses_roads = vehicle.means != routing::Means::boat;
        if (uses_roads && !on_the_map(vehicle.base, vehicle.means)) {
            problems.push_back({path + "/base", "the base of " + vehicle.name +
                                                    " is off the map for its means: no such "
                                                    "facility, or no road of its kind near"});
        }
        if (!vehicle.last_position) {
            continue;
        }
        if (uses_roads && !on_the_map(vehicle.last_position->point, vehicle.means)) {
            problems.push_back({path + "/last_position", "the position of " + vehicle.name +
                                                             " is off the map: no road of its "
                                                             "kind is near"});
        }
        if (vehicle.last_position->at > now + settings.clock_tolerance) {
            problems.push_back({path + "/last_position/at",
                                "the position is from " + to_rfc3339(vehicle.last_position->at) +
                                    ", which lies after now, " + to_rfc3339(now)});
        }
    }
    return problems;
}

}  // namespace waybourne::dispatch
