#include <algorithm>
#include <array>
#include <string_view>

#include "routing/internal/osm_turns.hpp"

namespace waybourne::routing {

namespace {

constexpr MeansSet vehicles =
    MeansSet{}.with(Means::motorcycle).with(Means::car).with(Means::four_wheel_drive);
constexpr MeansSet nobody;

struct Vehicles {
    std::string_view word;
    MeansSet means;
};

/// Words of `restriction:…` and `except`, and who of ours they name. Those with nobody are on the
/// wiki's page Key:access, from memory.
constexpr std::array vehicle_words{
    Vehicles{"vehicle", vehicles},
    Vehicles{"motor_vehicle", vehicles},
    Vehicles{"motorcar", MeansSet{}.with(Means::car).with(Means::four_wheel_drive)},
    Vehicles{"motorcycle", MeansSet{}.with(Means::motorcycle)},
    Vehicles{"emergency", vehicles},
    Vehicles{"foot", MeansSet{}.with(Means::on_foot)},
    Vehicles{"agricultural", nobody},
    Vehicles{"bicycle", nobody},
    Vehicles{"bus", nobody},
    Vehicles{"caravan", nobody},
    Vehicles{"coach", nobody},
    Vehicles{"goods", nobody},
    Vehicles{"hazmat", nobody},
    Vehicles{"hgv", nobody},
    Vehicles{"hov", nobody},
    Vehicles{"moped", nobody},
    Vehicles{"mofa", nobody},
    Vehicles{"motorhome", nobody},
    Vehicles{"psv", nobody},
    Vehicles{"share_taxi", nobody},
    Vehicles{"taxi", nobody},
    Vehicles{"tourist_bus", nobody},
    Vehicles{"trailer", nobody},
    Vehicles{"tram", nobody},
};

const Vehicles* find_vehicles(std::string_view word) {
    const auto* const found =
        std::find_if(vehicle_words.begin(), vehicle_words.end(),
                     [&](const Vehicles& entry) { return entry.word == word; });
    return found == vehicle_words.end() ? nullptr : found;
}

MeansSet either(MeansSet a, MeansSet b) {
    return MeansSet{static_cast<std::uint8_t>(a.bits() | b.bits())};
}

MeansSet without(MeansSet a, MeansSet b) {
    return MeansSet{static_cast<std::uint8_t>(a.bits() & ~b.bits())};
}

constexpr std::array bans{std::string_view{"no_left_turn"},   std::string_view{"no_right_turn"},
                          std::string_view{"no_straight_on"}, std::string_view{"no_u_turn"},
                          std::string_view{"no_entry"},       std::string_view{"no_exit"}};
constexpr std::array orders{std::string_view{"only_left_turn"}, std::string_view{"only_right_turn"},
                            std::string_view{"only_straight_on"}, std::string_view{"only_u_turn"}};

template <typename Words>
bool is_one_of(std::string_view word, const Words& words) {
    return std::find(words.begin(), words.end(), word) != words.end();
}

MeansSet excepted(std::string_view rest, std::int64_t id, Remarks& assumed) {
    MeansSet free;
    while (!rest.empty()) {
        const std::size_t end = std::min(rest.find_first_of(";,"), rest.size());
        std::string_view word = rest.substr(0, end);
        word.remove_prefix(std::min(word.find_first_not_of(' '), word.size()));
        word = word.substr(0, word.find_last_not_of(' ') + 1);
        const Vehicles* vehicle = find_vehicles(word);
        if (vehicle != nullptr) {
            free = either(free, vehicle->means);
        } else {
            assumed.add("relation: a turn restriction excepts somebody who is not known, ignored",
                        id);
        }
        rest.remove_prefix(std::min(end + 1, rest.size()));
    }
    return free;
}

/// The tags of one relation, gathered before they are weighed.
class TurnTags {
public:
    explicit TurnTags(const osmium::Relation& relation) {
        constexpr std::string_view prefix = "restriction:";
        std::string_view type = relation.tags().get_value_by_key("type", "");
        for (const osmium::Tag& tag : relation.tags()) {
            std::string_view key = tag.key();
            if (key == "day_on" || key == "day_off" || key == "hour_on" || key == "hour_off") {
                is_timed_ = true;
            } else if (key == "restriction") {
                // `type=restriction:motorcar`, an older form
                add(type.starts_with(prefix) ? type.substr(prefix.size()) : "", tag.value());
            } else if (key.starts_with(prefix)) {
                key.remove_prefix(prefix.size());
                if (key == "conditional" || key.ends_with(":conditional")) {
                    has_conditions_ = true;
                } else {
                    add(key, tag.value());
                }
            }
        }
    }

    bool is_timed() const { return is_timed_; }
    bool has_conditions() const { return has_conditions_; }
    /// Values that are not known, or of vehicles that are not.
    bool is_odd() const { return is_odd_; }
    /// Values for vehicles that are not ours.
    bool is_for_others() const { return is_for_others_; }
    bool may_have_several(std::string_view value) const {
        return is_one_of(value, values_) && values_.size() == 1;
    }

    /// The particular value counts before the general one.
    std::vector<TurnRule> rules(MeansSet free) const {
        MeansSet particular;
        for (const TurnRule& rule : particular_) {
            particular = either(particular, rule.means);
        }
        std::vector<TurnRule> result;
        const auto take = [&](TurnRule rule, MeansSet but) {
            rule.means = without(without(rule.means, but), free);
            if (!rule.means.is_empty()) {
                result.push_back(rule);
            }
        };
        for (const TurnRule& rule : particular_) {
            take(rule, {});
        }
        for (const TurnRule& rule : general_) {
            take(rule, particular);
        }
        return result;
    }

private:
    void add(std::string_view vehicle_word, std::string_view value) {
        const Vehicles* vehicle =
            vehicle_word.empty() ? find_vehicles("vehicle") : find_vehicles(vehicle_word);
        const bool is_order = is_one_of(value, orders);
        if (vehicle == nullptr || (!is_order && !is_one_of(value, bans))) {
            is_odd_ = true;
        } else if (vehicle->means.is_empty()) {
            is_for_others_ = true;
        } else {
            (vehicle_word.empty() ? general_ : particular_).push_back({is_order, vehicle->means});
            values_.push_back(value);
        }
    }

    std::vector<TurnRule> general_;
    std::vector<TurnRule> particular_;
    std::vector<std::string_view> values_;
    bool is_timed_ = false;
    bool has_conditions_ = false;
    bool is_odd_ = false;
    bool is_for_others_ = false;
};

void read_members(const osmium::Relation& relation, KeptTurn& turn) {
    for (const osmium::RelationMember& member : relation.members()) {
        const std::string_view role = member.role();
        const bool is_way = member.type() == osmium::item_type::way;
        if (is_way && role == "from") {
            turn.from_ways.push_back(member.ref());
        } else if (is_way && role == "to") {
            turn.to_ways.push_back(member.ref());
        } else if (is_way && role == "via") {
            turn.via_ways.push_back(member.ref());
        } else if (member.type() == osmium::item_type::node && role == "via") {
            turn.via_nodes.push_back(member.ref());
        }
    }
}

/// Why the members do not make a way, or null.
const char* fault_in(const KeptTurn& turn, const TurnTags& tags) {
    if (turn.from_ways.empty() || turn.to_ways.empty()) {
        return "relation: a turn restriction without a way to come from or to go to";
    }
    if ((turn.from_ways.size() > 1 && !tags.may_have_several("no_entry")) ||
        (turn.to_ways.size() > 1 && !tags.may_have_several("no_exit"))) {
        return "relation: a turn restriction with several ways to come from or to go to";
    }
    const bool has_one_node = turn.via_nodes.size() == 1 && turn.via_ways.empty();
    const bool has_ways = turn.via_nodes.empty() && !turn.via_ways.empty();
    return has_one_node || has_ways
               ? nullptr
               : "relation: a turn restriction that is not over one node or over ways";
}

}  // namespace

bool is_turn_restriction(const osmium::TagList& tags) {
    const std::string_view type = tags.get_value_by_key("type", "");
    return type == "restriction" || type.starts_with("restriction:");
}

std::optional<KeptTurn> read_turn(const osmium::Relation& relation, Remarks& left_out,
                                  Remarks& assumed) {
    const auto leave_out = [&](const char* reason) {
        left_out.add(reason, relation.id());
        return std::nullopt;
    };
    const TurnTags tags{relation};
    const MeansSet free =
        excepted(relation.tags().get_value_by_key("except", ""), relation.id(), assumed);
    KeptTurn turn;
    turn.id = relation.id();
    turn.rules = tags.rules(free);
    if (tags.is_timed()) {
        return leave_out("relation: a turn restriction at certain times only, ignored");
    }
    if (turn.rules.empty()) {
        if (!tags.rules({}).empty() || tags.is_for_others()) {
            return leave_out("relation: a turn restriction that concerns none of our vehicles");
        }
        return leave_out(tags.is_odd() ? "relation: a turn restriction of a kind that is not known"
                         : tags.has_conditions()
                             ? "relation: a turn restriction under conditions only, ignored"
                             : "relation: a turn restriction that does not say which");
    }
    if (tags.is_odd()) {
        assumed.add("relation: a turn restriction with a second kind that is not known, ignored",
                    relation.id());
    }
    if (tags.has_conditions()) {
        assumed.add("relation: a condition beside a turn restriction, ignored", relation.id());
    }
    read_members(relation, turn);
    const char* fault = fault_in(turn, tags);
    return fault == nullptr ? std::optional(std::move(turn)) : leave_out(fault);
}

}  // namespace waybourne::routing
