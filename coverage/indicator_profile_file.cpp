#include <algorithm>
#include <nlohmann/json.hpp>

#include "coverage/indicator.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/json_check.hpp"
#include "vocabulary/nearest_name.hpp"

namespace waybourne::coverage {

namespace {

using Json = nlohmann::json;

/// Reads one profile; what is wrong is noted with its pointer.
class ProfileReader {
public:
    explicit ProfileReader(const Json& file) : file_(file) {}

    IndicatorProfile read() {
        check_names(
            file_, "#/",
            {"id", "source", "people_per_unit", "facilities_per_unit", "comprehensive_per_unit",
             "complication_share", "basic", "comprehensive", "direct_conditions", "acceptable"});
        IndicatorProfile made;
        made.id = text("id");
        made.source = text("source");
        made.people_per_unit = above_nothing("people_per_unit");
        made.facilities_per_unit = above_nothing("facilities_per_unit");
        made.comprehensive_per_unit = above_nothing("comprehensive_per_unit");
        made.complication_share = above_nothing("complication_share");
        made.basic = capabilities("basic");
        made.comprehensive = capabilities("comprehensive");
        made.direct_conditions = names_of("direct_conditions");
        levels(made);
        if (!errors_.empty()) {
            throw InputError("the indicator profile is wrong", errors_);
        }
        return made;
    }

private:
    void note(const std::string& pointer, const std::string& detail) {
        errors_.push_back({pointer, detail});
    }

    void check_names(const Json& object, const std::string& pointer,
                     const std::vector<std::string>& known) {
        for (const auto& [name, value] : object.items()) {
            if (std::find(known.begin(), known.end(), name) == known.end()) {
                const auto nearest = nearest_name(name, known);
                note(pointer + name,
                     "is not known here" + (nearest ? "; did you mean '" + *nearest + "'?" : ""));
            }
        }
    }

    std::string text(const std::string& name) {
        const Json value = file_.value(name, Json());
        if (!value.is_string() || value.get<std::string>().empty()) {
            note("#/" + name, "a text is needed");
            return {};
        }
        return value.get<std::string>();
    }

    double above_nothing(const std::string& name) {
        const Json value = file_.value(name, Json());
        if (!value.is_number() || !(value.get<double>() > 0)) {
            note("#/" + name, "a number above 0 is needed");
            return 1;
        }
        return value.get<double>();
    }

    triage::CapabilitySet capabilities(const std::string& name) {
        triage::CapabilitySet set;
        const Json list = file_.value(name, Json());
        if (!list.is_array() || list.empty()) {
            note("#/" + name, "a list of capabilities is needed");
            return set;
        }
        for (std::size_t i = 0; i < list.size(); ++i) {
            const auto found = list[i].is_string()
                                   ? triage::find_capability(list[i].get<std::string>())
                                   : std::nullopt;
            if (found) {
                set.insert(*found);
            } else {
                note("#/" + name + "/" + std::to_string(i), "is not a capability");
            }
        }
        return set;
    }

    /// Empty where there is none.
    std::vector<std::string> names_of(const std::string& name) {
        std::vector<std::string> names;
        const Json list = file_.value(name, Json::array());
        if (!list.is_array()) {
            note("#/" + name, "a list of names is needed");
            return names;
        }
        for (std::size_t i = 0; i < list.size(); ++i) {
            if (list[i].is_string() && !list[i].get<std::string>().empty()) {
                names.push_back(list[i].get<std::string>());
            } else {
                note("#/" + name + "/" + std::to_string(i), "is not a name");
            }
        }
        return names;
    }

    void levels(IndicatorProfile& made) {
        const Json all = file_.value("acceptable", Json());
        if (!all.is_object()) {
            note("#/acceptable", "an object is needed");
            return;
        }
        std::vector<std::string> known;
        for (std::size_t i = 0; i < indicator_count; ++i) {
            known.emplace_back(to_name(static_cast<IndicatorKind>(i)));
            const auto found = all.find(known.back());
            if (found != all.end()) {
                made.acceptable[i] = level(*found, "#/acceptable/" + known.back());
            }
        }
        check_names(all, "#/acceptable/", known);
    }

    Acceptable level(const Json& given, const std::string& pointer) {
        Acceptable made;
        if (!given.is_object()) {
            note(pointer, "an object is needed");
            return made;
        }
        check_names(given, pointer + "/", {"at_least", "at_most", "below"});
        for (auto& [name, limit] :
             {std::pair<const char*, std::optional<double>&>{"at_least", made.at_least},
              {"at_most", made.at_most},
              {"below", made.below}}) {
            const auto found = given.find(name);
            if (found == given.end()) {
                continue;
            }
            if (found->is_number()) {
                limit = found->get<double>();
            } else {
                note(pointer + "/" + name, "is not a number");
            }
        }
        return made;
    }

    const Json& file_;
    std::vector<FieldError> errors_;
};

}  // namespace

IndicatorProfile parse_indicator_profile(std::string_view json) {
    check_json(json);
    const Json file = Json::parse(json.begin(), json.end());
    if (!file.is_object()) {
        throw InputError("an indicator profile is a JSON object");
    }
    return ProfileReader(file).read();
}

}  // namespace waybourne::coverage
