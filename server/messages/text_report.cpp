#include "server/messages/text_report.hpp"

#include "referral/text_message.hpp"
#include "server/languages.hpp"
#include "server/problem.hpp"
#include "server/words.hpp"
#include "vocabulary/local_date.hpp"

namespace waybourne::server {

namespace {

/// The next moment when a clock there shows this time.
Instant next_time(const Words& words, const TimeZone& zone, int minutes) {
    const Seconds midnight = day_of(zone.local(words.now())).time_since_epoch();
    const Instant today = zone.earliest({midnight + std::chrono::minutes{minutes}});
    const Instant tomorrow = zone.earliest({midnight + std::chrono::minutes{minutes + 24 * 60}});
    return today > words.now() ? today : tomorrow;
}

/// What a report can be about there, by its name.
std::optional<facilities::ReportSubject> subject_at(const facilities::Facility& facility,
                                                    const std::string& name) {
    if (name == "place") {
        return facilities::WholeFacility{};
    }
    for (const facilities::Resource& resource : facility.resources) {
        if (resource.name == name) {
            return facilities::ResourceName{name};
        }
    }
    for (const facilities::Service& service : facility.services) {
        if (to_name(service.capability) == name) {
            return service.capability;
        }
    }
    return std::nullopt;
}

std::vector<std::string> names_at(const facilities::Facility& facility) {
    std::vector<std::string> names;
    for (const facilities::Resource& resource : facility.resources) {
        names.push_back(resource.name);
    }
    for (const facilities::Service& service : facility.services) {
        names.emplace_back(to_name(service.capability));
    }
    return names;
}

}  // namespace

std::string fitting(const std::vector<std::string>& parts, std::size_t around) {
    std::string list;
    for (const std::string& part : parts) {
        const std::string_view joint = list.empty() ? "" : ", ";
        if (list.size() + joint.size() + part.size() + around >
            referral::two_text_messages_length) {
            break;
        }
        list.append(joint).append(part);
    }
    return list;
}

std::string answer_report(Desk& desk, const Snapshot& snapshot, const Call& call,
                          const SaidReady& ready, Instant now) {
    const Caller& caller = call.caller;
    const Catalogue& catalogue = catalogue_for(snapshot, caller.languages);
    if (caller.facilities.size() != 1) {
        return catalogue.text(std::string_view{"server.text.several_places"});
    }
    const facilities::Facility* facility =
        snapshot.facilities.find_facility(caller.facilities.front());
    if (facility == nullptr) {
        return catalogue.text(std::string_view{"server.text.several_places"});
    }
    const auto about = subject_at(*facility, ready.about);
    if (!about) {
        constexpr std::size_t words_around = 120;
        constexpr std::size_t longest_name = 40;
        return catalogue.text(Message{"server.text.report_unknown",
                                      {{"about", ready.about.substr(0, longest_name)},
                                       {"known", fitting(names_at(*facility), words_around)}}});
    }
    facilities::Report made;
    made.facility = facility->id;
    made.about = *about;
    made.is_ready = ready.is_ready;
    made.at = now;
    made.by = to_name(caller.role);
    const Words in{catalogue, snapshot.zone, now};
    if (ready.until_minutes) {
        made.until = next_time(in, snapshot.zone, *ready.until_minutes);
    }
    try {
        desk.report(call, {facility->id, {made}, {}, {}});
    } catch (const HttpRefusal& refusal) {
        constexpr int forbidden = 403;
        if (refusal.problem().status != forbidden) {
            throw;
        }
        return catalogue.text(std::string_view{"server.text.practice_report"});
    }
    return catalogue.text(
        Message{ready.is_ready ? "server.text.reported_ready" : "server.text.reported_not_ready",
                {{"time", in.clock(in.now())}, {"about", ready.about}}});
}

}  // namespace waybourne::server
