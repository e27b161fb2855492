#include "server/json/shift_handover.hpp"

#include "server/json/assessment.hpp"
#include "server/json/vehicle.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;

constexpr std::size_t no_limit = static_cast<std::size_t>(-1);
constexpr double most_counted = 1e15;

/// Writes the list, with words where a reader is given.
class ListWriter {
public:
    ListWriter(JsonWriter& json, const Words* words) : json_(json), words_(words) {}

    void write(const ShiftList& list) {
        json_.begin_object().key("referrals").begin_list();
        for (const ShiftList::Woman& woman : list.women) {
            write(woman);
        }
        json_.end_list().key("vehicles").begin_list();
        for (const ShiftList::VehicleLine& line : list.vehicles) {
            json_.begin_object().member("id", line.id).member("name", line.name);
            json_.member("state", state_name(line.hold)).member("until", line.until);
            json_.member("referral", line.code).end_object();
        }
        json_.end_list().end_object();
    }

private:
    void write(const ShiftList::Woman& woman) {
        json_.begin_object().member("code", woman.code);
        json_.member("state", wire_name(woman.state)).member("sender", woman.sender);
        json_.member("asked", woman.asked).member("deadline", woman.deadline);
        json_.key("needs").begin_list();
        for (const ShiftList::Need& need : woman.needs) {
            json_.begin_object().key("any_of");
            write_capabilities(json_, need.any_of);
            json_.member("critical", need.critical).member("deadline", need.deadline);
            if (words_ != nullptr) {
                json_.member("text", words_->capabilities(need.any_of));
            }
            json_.end_object();
        }
        json_.end_list().key("vehicles").begin_list();
        for (const VehicleId& vehicle : woman.vehicles) {
            json_.value(vehicle);
        }
        json_.end_list().member("waits", woman.waits).member("with_her_by", woman.with_her_by);
        json_.member("expected_by", woman.expected_by).key("alerts").begin_list();
        for (const ShiftList::Alert& alert : woman.alerts) {
            json_.begin_object().member("alert", alert.id).member("what", alert.what);
            json_.member("due", alert.due).member("acknowledged_at", alert.acknowledged_at);
            if (words_ != nullptr) {
                json_.member("text", words_->text(message_of(alert.what, alert.due)));
            }
            json_.end_object();
        }
        json_.end_list().end_object();
    }

    JsonWriter& json_;
    const Words* words_;
};

/// Calls `read` for each object in the list of that name.
template <typename Read>
void read_each(ObjectReader& body, const std::string& name, Errors& errors, const Read& read) {
    body.require(name);
    const auto* list = body.list(name, no_limit);
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        ObjectReader reader{(*list)[i], body.pointer_to(name) + "/" + std::to_string(i), errors};
        read(reader);
    }
}

template <typename AnyId>
std::optional<AnyId> id_in(ObjectReader& reader, const std::string& name) {
    const auto text = reader.text(name);
    return text ? std::optional(AnyId{*text}) : std::nullopt;
}

/// The texts in a list; what is no text is left out.
std::vector<std::string> texts_in(ObjectReader& reader, const std::string& name) {
    std::vector<std::string> texts;
    const auto* list = reader.list(name, no_limit);
    for (std::size_t i = 0; list != nullptr && i < list->size(); ++i) {
        if ((*list)[i].kind() == JsonKind::text) {
            texts.push_back((*list)[i].text());
        }
    }
    return texts;
}

ShiftList::Need read_need(ObjectReader& reader) {
    ShiftList::Need need;
    for (const std::string& name : texts_in(reader, "any_of")) {
        if (const auto capability = triage::find_capability(name)) {
            need.any_of.insert(*capability);
        }
    }
    need.critical = reader.boolean("critical").value_or(false);
    need.deadline = reader.instant("deadline");
    return need;
}

ShiftList::Alert read_alert(ObjectReader& reader) {
    return {reader.text("alert").value_or(""), reader.text("what").value_or(""),
            reader.instant("due").value_or(Instant{}), reader.instant("acknowledged_at")};
}

ShiftList::Woman read_woman(ObjectReader& reader, Errors& errors) {
    ShiftList::Woman woman;
    reader.require("code");
    woman.code = reader.text("code").value_or("");
    woman.state =
        referral::find_state(reader.text("state").value_or("")).value_or(referral::State::opened);
    woman.sender = id_in<FacilityId>(reader, "sender");
    woman.asked = id_in<FacilityId>(reader, "asked");
    woman.deadline = reader.instant("deadline");
    read_each(reader, "needs", errors,
              [&](ObjectReader& one) { woman.needs.push_back(read_need(one)); });
    for (const std::string& id : texts_in(reader, "vehicles")) {
        woman.vehicles.emplace_back(id);
    }
    woman.waits = reader.boolean("waits").value_or(false);
    woman.with_her_by = reader.instant("with_her_by");
    woman.expected_by = reader.instant("expected_by");
    read_each(reader, "alerts", errors,
              [&](ObjectReader& one) { woman.alerts.push_back(read_alert(one)); });
    return woman;
}

ShiftList::VehicleLine read_vehicle_line(ObjectReader& reader) {
    ShiftList::VehicleLine line;
    reader.require("id");
    line.id = VehicleId{reader.text("id").value_or("")};
    line.name = reader.text("name").value_or("");
    line.hold = dispatch::find_hold(reader.text("state").value_or(""));
    line.until = reader.instant("until");
    line.code = reader.text("referral");
    return line;
}

}  // namespace

std::string to_stored(const ShiftList& list) {
    JsonWriter json;
    ListWriter(json, nullptr).write(list);
    return json.take();
}

void write_shift_list(JsonWriter& json, const ShiftList& list, const Words& words) {
    ListWriter(json, &words).write(list);
}

std::string to_stored(const SignedList& made, const std::string& request_sha256) {
    JsonWriter json;
    json.begin_object().key("list").raw(to_stored(made.list));
    json.member("sha256", made.sha256).member("as_of", std::int64_t{made.as_of});
    json.member("request_sha256", request_sha256);
    return json.end_object().take();
}

SignedList parse_stored_shift(std::string_view text) {
    const JsonValue value = parse_json(text);
    Errors errors;
    ObjectReader body{value, "#", errors};
    SignedList made;
    body.require("list");
    if (const JsonValue* given = body.take("list")) {
        ObjectReader list{*given, "#/list", errors};
        read_each(list, "referrals", errors,
                  [&](ObjectReader& one) { made.list.women.push_back(read_woman(one, errors)); });
        read_each(list, "vehicles", errors,
                  [&](ObjectReader& one) { made.list.vehicles.push_back(read_vehicle_line(one)); });
    }
    made.sha256 = body.text("sha256").value_or("");
    made.as_of =
        static_cast<journal::Sequence>(body.number("as_of", {0, most_counted}).value_or(0));
    throw_if_any(errors);
    return made;
}

void write_handover_members(JsonWriter& json, const ShiftHandover& handover) {
    json.member("id", handover.id).member("practice", handover.is_practice);
    json.member("left_by", handover.left_by).member("left_at", handover.left_at);
    json.member("taken_by", handover.taken_by).member("taken_at", handover.taken_at);
}

ShiftHandover read_handover_members(ObjectReader& reader) {
    ShiftHandover handover;
    handover.id = reader.text("id").value_or("");
    handover.is_practice = reader.boolean("practice").value_or(false);
    handover.left_by = reader.text("left_by").value_or("");
    handover.left_at = reader.instant("left_at").value_or(Instant{});
    handover.taken_by = reader.text("taken_by");
    handover.taken_at = reader.instant("taken_at");
    return handover;
}

}  // namespace waybourne::server
