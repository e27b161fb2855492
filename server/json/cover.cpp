#include "server/json/cover.hpp"

#include "server/json/vehicle.hpp"

namespace waybourne::server {

namespace {

constexpr int decimals = 3;

void write_named(JsonWriter& json, std::string_view name, const dispatch::Vehicle& vehicle) {
    json.key(name).begin_object().member("id", vehicle.id).member("name", vehicle.name);
    json.end_object();
}

/// Writes what idle vehicles should do, and which of them are the last somewhere.
class Advice {
public:
    Advice(JsonWriter& json, const CoverAnswer& cover, const Snapshot& snapshot,
           const std::vector<dispatch::Vehicle>& vehicles, const Words& words)
        : json_(json), cover_(cover), snapshot_(snapshot), vehicles_(vehicles), words_(words) {}

    void write(const CoverAnswer::Wait& wait) {
        json_.begin_object();
        write_named(json_, "vehicle", vehicles_[wait.move.vehicle]);
        write_to(wait.move.base);
        json_.key("share_after").value(wait.share_after, decimals);
        write_text(message_of(wait, cover_, snapshot_, vehicles_));
    }
    void write(const CoverAnswer::MoveUp& move_up) {
        json_.begin_object();
        write_named(json_, "called", vehicles_[move_up.what.called]);
        write_named(json_, "vehicle", vehicles_[move_up.what.move.vehicle]);
        write_to(move_up.what.move.base);
        json_.key("share_before").value(move_up.share_before, decimals);
        json_.key("share_after").value(move_up.share_after, decimals);
        write_text(message_of(move_up, cover_, snapshot_, vehicles_));
    }
    void write(const CoverAnswer::Last& last) {
        json_.begin_object();
        write_named(json_, "vehicle", vehicles_[last.vehicle]);
        json_.member("areas", last.areas);
        write_text(message_of(last, vehicles_));
    }

private:
    void write_to(std::size_t base) {
        json_.key("to");
        write_base(json_, cover_.bases[base]);
        json_.member("to_name", name_of(cover_.bases[base], snapshot_));
    }
    void write_text(const Message& message) {
        json_.member("text", words_.text(message)).end_object();
    }

    JsonWriter& json_;
    const CoverAnswer& cover_;
    const Snapshot& snapshot_;
    const std::vector<dispatch::Vehicle>& vehicles_;
    const Words& words_;
};

}  // namespace

CoverWords cover_words(const CoverAnswer& cover, const Words& words) {
    CoverWords told;
    for (const Message& message : cover.report.messages) {
        (message.id == dispatch::last_vehicle_leaves ? told.warnings : told.words)
            .push_back(words.text(message));
    }
    return told;
}

void write_cover(JsonWriter& json, const std::optional<CoverAnswer>& cover,
                 const Snapshot& snapshot, const std::vector<dispatch::Vehicle>& vehicles,
                 const Words& words) {
    if (!cover) {
        json.null();
        return;
    }
    const CoverWords told = cover_words(*cover, words);
    json.begin_object().key("share_before").value(cover->report.share_before, decimals);
    json.key("share_after").value(cover->report.share_after, decimals);
    json.member("words", told.words).member("warnings", told.warnings);
    Advice advice(json, *cover, snapshot, vehicles, words);
    const auto list = [&](const char* name, const auto& all) {
        json.key(name).begin_list();
        for (const auto& one : all) {
            advice.write(one);
        }
        json.end_list();
    };
    list("waiting", cover->waits);
    list("move_ups", cover->move_ups);
    list("last_vehicles", cover->lasts);
    json.end_object();
}

}  // namespace waybourne::server
