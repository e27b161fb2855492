#include <fmt/format.h>

#include <array>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

#include "routing/speed_table.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/nearest_name.hpp"

namespace waybourne::routing {

namespace {

using nlohmann::json;

constexpr std::size_t most_rows = 1000;
/// More minutes or seconds than any figure here; the table's own check is stricter.
constexpr double greatest_number = 1e9;

constexpr std::array<Means, 6> all_means{Means::on_foot,          Means::motorcycle, Means::car,
                                         Means::four_wheel_drive, Means::boat,       Means::ferry};

std::optional<Means> find_means(std::string_view name) {
    for (const Means means : all_means) {
        if (to_name(means) == name) {
            return means;
        }
    }
    return std::nullopt;
}

/// One JSON object while it is read: what is missing, wrong or left over becomes an error, and
/// reading goes on with a harmless value.
class ObjectReader {
public:
    ObjectReader(const json& value, std::string place, std::vector<FieldError>& errors)
        : value_(value.is_object() ? value : empty()), place_(std::move(place)), errors_(errors) {
        if (!value.is_object()) {
            add("", "must be an object");
        }
    }

    /// To be called last: names the fields nobody asked for.
    void finish() {
        const std::vector<std::string> known{asked_.begin(), asked_.end()};
        for (const auto& [name, unused] : value_.items()) {
            if (asked_.find(name) == asked_.end()) {
                const std::optional<std::string> nearest = nearest_name(name, known);
                add("/" + name, nearest ? fmt::format("unknown; is '{}' meant?", *nearest)
                                        : std::string{"unknown"});
            }
        }
    }

    std::string text(const std::string& name) {
        const json* found = find(name);
        if (found == nullptr) {
            return {};
        }
        if (!found->is_string() || found->get_ref<const std::string&>().empty()) {
            add("/" + name, "must be a text that is not empty");
            return {};
        }
        return found->get<std::string>();
    }

    double number(const std::string& name) {
        const json* found = find(name);
        if (found == nullptr) {
            return 1;
        }
        if (!found->is_number() || !(std::abs(found->get<double>()) <= greatest_number)) {
            add("/" + name, "must be a number");
            return 1;
        }
        return found->get<double>();
    }

    Seconds seconds(const std::string& name) { return Seconds{std::llround(number(name))}; }

    Seconds minutes(const std::string& name) { return Seconds{std::llround(number(name) * 60)}; }

    bool boolean(const std::string& name) {
        const json* found = find(name);
        if (found != nullptr && !found->is_boolean()) {
            add("/" + name, "must be true or false");
            return false;
        }
        return found != nullptr && found->get<bool>();
    }

    SpeedRange range(const std::string& name) {
        ObjectReader reader = object(name);
        const SpeedRange result{reader.number("low"), reader.number("central"),
                                reader.number("high")};
        reader.finish();
        return result;
    }

    ObjectReader object(const std::string& name) {
        const json* found = find(name);
        // A missing field is reported once, as missing.
        return {found != nullptr ? *found : empty(), place_ + "/" + name,
                found != nullptr ? errors_ : ignored_};
    }

    /// The words of a list that `find_word` knows; an absent list is an empty one.
    template <typename Word>
    std::vector<Word> optional_words(const std::string& name,
                                     std::optional<Word> (*find_word)(std::string_view)) {
        asked_.insert(name);
        std::vector<Word> words;
        const auto found = value_.find(name);
        if (found == value_.end()) {
            return words;
        }
        if (!found->is_array() || found->empty()) {
            add("/" + name, "must be a list that is not empty; leave it out for any");
            return words;
        }
        for (const json& entry : *found) {
            const std::optional<Word> word =
                entry.is_string() ? find_word(entry.get_ref<const std::string&>()) : std::nullopt;
            if (word) {
                words.push_back(*word);
            } else {
                add("/" + name, fmt::format("{} is not known", shown(entry)));
            }
        }
        return words;
    }

    template <typename Word>
    Word word(const std::string& name, std::optional<Word> (*find_word)(std::string_view),
              Word otherwise) {
        const std::string given = text(name);
        const std::optional<Word> found = find_word(given);
        if (!found && !given.empty()) {
            add("/" + name, fmt::format("'{}' is not known", given));
        }
        return found.value_or(otherwise);
    }

    /// Every entry of an object whose names are free, e.g. the sources.
    template <typename Use>
    void each(Use use) {
        for (const auto& [name, entry] : value_.items()) {
            asked_.insert(name);
            use(name, entry, place_ + "/" + name);
        }
    }

    template <typename Use>
    void each_of_list(const std::string& name, Use use) {
        const json* found = find(name);
        if (found == nullptr) {
            return;
        }
        if (!found->is_array() || found->size() > most_rows) {
            add("/" + name, fmt::format("must be a list of at most {} entries", most_rows));
            return;
        }
        for (std::size_t i = 0; i < found->size(); ++i) {
            use((*found)[i], fmt::format("{}/{}/{}", place_, name, i));
        }
    }

    void add(const std::string& where, std::string detail) {
        errors_.push_back({place_ + where, std::move(detail)});
    }

    /// A value as it stands in the file, cut short: a name is enough.
    static std::string shown(const json& value) {
        constexpr std::size_t enough = 60;
        return value.dump(-1, ' ', true, json::error_handler_t::replace).substr(0, enough);
    }

private:
    static const json& empty() {
        static const json nothing = json::object();
        return nothing;
    }

    const json* find(const std::string& name) {
        asked_.insert(name);
        const auto found = value_.find(name);
        if (found == value_.end()) {
            add("/" + name, "is missing");
            return nullptr;
        }
        return &*found;
    }

    const json& value_;
    std::string place_;
    std::vector<FieldError>& errors_;
    std::vector<FieldError> ignored_;
    std::set<std::string> asked_;
};

void read_sources(ObjectReader reader, SpeedRows& rows, std::vector<FieldError>& errors) {
    reader.each([&](const std::string& name, const json& entry, const std::string& place) {
        ObjectReader source{entry, place, errors};
        rows.sources[name] = {source.text("text"), source.boolean("is_measured")};
        source.finish();
    });
}

void read_surfaces(ObjectReader reader, SpeedRows& rows) {
    reader.each([&](const std::string& name, const json& entry, const std::string&) {
        const std::optional<SurfaceClass> surface = find_surface_class(name);
        if (!surface || !entry.is_array()) {
            reader.add("/" + name, "must be paved, unpaved or earth, with a list of words");
            return;
        }
        for (const json& value : entry) {
            if (!value.is_string()) {
                reader.add("/" + name, fmt::format("{} is not a word", ObjectReader::shown(value)));
            } else if (!rows.surface_of.emplace(value.get<std::string>(), *surface).second) {
                reader.add("/" + name, fmt::format("{} stands twice", ObjectReader::shown(value)));
            }
        }
    });
}

template <typename Word>
void read_assumed(ObjectReader reader, std::optional<Word> (*find_word)(std::string_view),
                  std::map<Word, SurfaceClass>& assumed) {
    reader.each([&](const std::string& name, const json& entry, const std::string&) {
        const std::optional<Word> word = find_word(name);
        const std::optional<SurfaceClass> surface =
            entry.is_string() ? find_surface_class(entry.get_ref<const std::string&>())
                              : std::nullopt;
        if (word && surface) {
            assumed[*word] = *surface;
        } else {
            reader.add("/" + name, word ? "must be paved, unpaved or earth" : "is not known");
        }
    });
}

SpeedRow read_row(const json& value, const std::string& place, std::vector<FieldError>& errors) {
    ObjectReader reader{value, place, errors};
    SpeedRow row;
    row.road_classes = reader.optional_words("road_classes", &find_road_class);
    row.surfaces = reader.optional_words("surface_classes", &find_surface_class);
    row.track_types = reader.optional_words("track_types", &find_track_type);
    row.dry_day = reader.range("dry_day_kmh");
    row.wet_factor = reader.number("wet_factor");
    row.night_factor = reader.number("night_factor");
    row.dry_spread = reader.seconds("dry_spread_s");
    row.wet_spread = reader.seconds("wet_spread_s");
    row.closed_when_wet_to = reader.optional_words("closed_when_wet_to", &find_means);
    row.source = reader.text("source");
    row.factor_source = reader.text("factor_source");
    row.spread_source = reader.text("spread_source");
    reader.finish();
    return row;
}

SmoothnessRow read_smoothness(const json& value, const std::string& place,
                              std::vector<FieldError>& errors) {
    ObjectReader reader{value, place, errors};
    SmoothnessRow row;
    row.smoothness = reader.word("smoothness", &find_smoothness, Smoothness::unknown);
    row.factor = reader.number("factor");
    row.closed_to = reader.optional_words("closed_to", &find_means);
    row.source = reader.text("source");
    reader.finish();
    return row;
}

void read_walking(ObjectReader reader, SpeedRows& rows) {
    rows.walking_on_road = reader.range("on_road_kmh");
    rows.walking_off_road_dry = reader.range("off_road_dry_kmh");
    rows.walking_off_road_wet = reader.range("off_road_wet_kmh");
    rows.walking_detour = reader.number("off_road_detour");
    rows.walking_spread = reader.seconds("spread_s");
    rows.walking_source = reader.text("source");
    rows.walking_assumption_source = reader.text("assumption_source");
    reader.finish();
}

void read_ferry(ObjectReader reader, SpeedRows& rows) {
    rows.ferry_speed = reader.number("kmh");
    rows.ferry_boarding = reader.minutes("boarding_minutes");
    rows.ferry_assumed_wait = reader.minutes("wait_without_timetable_minutes");
    rows.ferry_spread = reader.seconds("spread_s");
    rows.ferry_source = reader.text("source");
    reader.finish();
}

SpeedRows read_all(const json& document, std::vector<FieldError>& errors) {
    SpeedRows rows;
    ObjectReader reader{document, "#", errors};
    rows.version = reader.text("version");
    reader.text("about");
    read_sources(reader.object("sources"), rows, errors);
    read_surfaces(reader.object("surfaces"), rows);
    ObjectReader assumed = reader.object("assumed_surface");
    rows.assumed_surface_source = assumed.text("source");
    read_assumed(assumed.object("by_track_type"), &find_track_type, rows.assumed_by_track_type);
    read_assumed(assumed.object("by_road_class"), &find_road_class, rows.assumed_by_road_class);
    assumed.finish();
    reader.each_of_list("rows", [&](const json& value, const std::string& place) {
        rows.rows.push_back(read_row(value, place, errors));
    });
    reader.each_of_list("smoothness", [&](const json& value, const std::string& place) {
        rows.smoothness.push_back(read_smoothness(value, place, errors));
    });
    read_walking(reader.object("walking"), rows);
    read_ferry(reader.object("ferry"), rows);
    reader.finish();
    return rows;
}

}  // namespace

SpeedTable parse_speed_table(std::string_view text) {
    const json document = json::parse(text, nullptr, false);
    if (document.is_discarded()) {
        throw InputError("the speed table is not valid JSON");
    }
    std::vector<FieldError> errors;
    SpeedRows rows = read_all(document, errors);
    if (errors.empty()) {
        return SpeedTable{std::move(rows)};
    }
    const std::string what =
        fmt::format("the speed table has {} errors, the first: {} {}", errors.size(),
                    errors.front().pointer, errors.front().detail);
    throw InputError(what, std::move(errors));
}

}  // namespace waybourne::routing
