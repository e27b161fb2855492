#include "triage/internal/protocol_reader.hpp"
#include "vocabulary/nearest_name.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::triage {

namespace {

/// A list of sources that names at least one.
std::vector<std::string> read_sources(TreeReader& reader) {
    const TreeReader list = reader.at("sources");
    std::vector<std::string> sources;
    for (const TreeReader& item : list.items()) {
        sources.push_back(item.text());
    }
    if (sources.empty() && list.is_list()) {
        list.refuse("names no source");
    }
    return sources;
}

std::string read_label(TreeReader& reader) {
    return reader.has("label") ? reader.text_at("label") : std::string{};
}

CapabilitySet read_capabilities(const TreeReader& list) {
    static const std::vector<std::string> names = [] {
        std::vector<std::string> all;
        for (std::size_t i = 0; i < capability_count; ++i) {
            all.emplace_back(to_name(static_cast<Capability>(i)));
        }
        return all;
    }();
    CapabilitySet set;
    for (const TreeReader& item : list.items()) {
        const std::string name = item.text();
        const auto capability = find_capability(name);
        if (capability) {
            set.insert(*capability);
        } else if (!name.empty()) {
            const auto nearest = nearest_name(name, names);
            item.refuse("the capability '" + shortened(name, 60) + "' is not known" +
                        (nearest ? "; did you mean '" + *nearest + "'?" : ""));
        }
    }
    if (list.is_list() && list.items().empty()) {
        list.refuse("names no capability");
    }
    return set;
}

}  // namespace

ProtocolReader::Places ProtocolReader::place_of(const std::vector<TreeReader>& items) {
    Places places;
    for (std::size_t i = 0; i < items.size(); ++i) {
        TreeReader item = items[i];
        const TreeReader id = item.at("id");
        const std::string name = id.text();
        if (!name.empty() && !places.emplace(name, i).second) {
            id.refuse("the id '" + name + "' is used twice");
        }
    }
    return places;
}

std::vector<std::size_t> ProtocolReader::places_at(TreeReader& reader, std::string_view key,
                                                   const Places& places) {
    std::vector<std::size_t> found;
    for (const TreeReader& item : reader.at(key).items()) {
        const std::string id = item.text();
        const auto place = places.find(id);
        if (place != places.end()) {
            found.push_back(place->second);
        } else if (!id.empty()) {
            std::vector<std::string> known;
            for (const auto& [name, where] : places) {
                known.push_back(name);
            }
            const auto nearest = nearest_name(id, known);
            item.refuse("'" + shortened(id, 60) + "' is not known" +
                        (nearest ? "; did you mean '" + *nearest + "'?" : ""));
        }
    }
    return found;
}

Withholding ProtocolReader::read_withholding(TreeReader reader) {
    Withholding withholding{condition_at(reader, "when"), reader.text_at("because")};
    reader.refuse_unknown_keys();
    return withholding;
}

void ProtocolReader::read_doses() {
    std::vector<TreeReader> items = root_.at("doses").items();
    doses_ = place_of(items);
    for (TreeReader& reader : items) {
        Dose dose;
        dose.id = reader.has("id") ? reader.text_at("id") : std::string{};
        dose.drug = reader.text_at("drug");
        dose.text = reader.text_at("text");
        dose.dose = reader.text_at("dose");
        dose.route = reader.text_at("route");
        dose.maximum = reader.text_at("maximum");
        dose.contraindications = reader.texts_at("contraindications");
        if (dose.contraindications.empty() && reader.at("contraindications").is_list()) {
            reader.at("contraindications").refuse("names no contraindication");
        }
        dose.given_when = condition_if_any(reader, "given_when");
        for (const TreeReader& withheld : reader.at("withheld").items()) {
            dose.withheld.push_back(read_withholding(withheld));
        }
        dose.sources = read_sources(reader);
        dose.label = read_label(reader);
        reader.refuse_unknown_keys();
        protocol_.doses.push_back(std::move(dose));
    }
}

void ProtocolReader::read_actions() {
    std::vector<TreeReader> items = root_.at("actions").items();
    actions_ = place_of(items);
    for (TreeReader& reader : items) {
        Action action;
        action.id = reader.has("id") ? reader.text_at("id") : std::string{};
        action.text = reader.text_at("text");
        action.doses = places_at(reader, "doses", doses_);
        if (reader.has("withheld_when")) {
            action.withheld.push_back(read_withholding(reader.at("withheld_when")));
        }
        action.sources = read_sources(reader);
        reader.refuse_unknown_keys();
        protocol_.actions.push_back(std::move(action));
    }
}

std::vector<WantedCare> ProtocolReader::read_needs(TreeReader& reader) {
    std::vector<WantedCare> needs;
    for (TreeReader& item : reader.at("needs").items()) {
        WantedCare wanted{read_capabilities(item.at("any_of")), item.at("critical").truth()};
        item.refuse_unknown_keys();
        needs.push_back(wanted);
    }
    return needs;
}

Rule ProtocolReader::read_rule(TreeReader& reader) {
    Rule rule;
    rule.id = reader.has("id") ? reader.text_at("id") : std::string{};
    rule.condition = reader.text_at("condition");
    rule.suspect = reader.text_at("suspect");
    rule.when = condition_at(reader, "when");
    rule.needs = read_needs(reader);
    const TreeReader within = reader.at("within_minutes");
    if (!within.is_null()) {
        rule.within = read_minutes(within);
    }
    rule.leave_now = reader.at("leave_now").truth();
    rule.ask = fields_at(reader, "ask");
    rule.do_now = places_at(reader, "do_now", actions_);
    rule.on_the_way = places_at(reader, "on_the_way", actions_);
    reader.at("hides");  // read once all rules are known
    rule.sources = read_sources(reader);
    rule.label = read_label(reader);
    reader.refuse_unknown_keys();
    return rule;
}

void ProtocolReader::read_rules() {
    const TreeReader list = root_.at("rules");
    std::vector<TreeReader> items = list.items();
    if (items.empty() && list.is_list()) {
        list.refuse("has no rule");
    }
    rules_ = place_of(items);
    for (TreeReader& reader : items) {
        protocol_.rules.push_back(read_rule(reader));
    }
}

void ProtocolReader::read_hidden_rules() {
    const TextTree* list = root_.tree().find("rules");
    if (list == nullptr || !std::holds_alternative<TextTree::List>(list->value)) {
        return;
    }
    std::vector<TreeReader> items = root_.at("rules").items();
    for (std::size_t rule = 0; rule < items.size(); ++rule) {
        if (items[rule].has("hides")) {
            protocol_.rules[rule].hides = places_at(items[rule], "hides", rules_);
        }
    }
}

void ProtocolReader::read_cautions() {
    for (TreeReader& reader : root_.at("cautions").items()) {
        Caution caution{reader.text_at("text"), condition_if_any(reader, "when")};
        reader.refuse_unknown_keys();
        protocol_.cautions.push_back(std::move(caution));
    }
}

}  // namespace waybourne::triage
