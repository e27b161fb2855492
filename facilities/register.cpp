#include "facilities/register.hpp"

#include <algorithm>
#include <limits>
#include <map>
#include <string>
#include <tuple>

#include "facilities/internal/prepared.hpp"
#include "vocabulary/nearest_name.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::facilities {

namespace {

using Prepared = FacilityRegister::Prepared;
using Heard = FacilityRegister::Heard;

void check(const std::vector<Facility>& facilities) {
    std::vector<FieldError> errors;
    std::map<FacilityId, std::size_t> first;
    for (std::size_t i = 0; i < facilities.size(); ++i) {
        const std::string pointer = "#/facilities/" + std::to_string(i);
        for (const FieldError& problem : problems_of(facilities[i])) {
            errors.push_back({pointer + problem.pointer.substr(1), problem.detail});
        }
        const auto [place, is_new] = first.emplace(facilities[i].id, i);
        if (!is_new) {
            errors.push_back({pointer + "/id", "'" + facilities[i].id.value() +
                                                   "' is already the id of facility " +
                                                   std::to_string(place->second)});
        }
    }
    if (!errors.empty()) {
        throw InputError(std::to_string(errors.size()) + " problems in the facilities", errors);
    }
}

Prepared::Place prepare(const Facility& facility) {
    Prepared::Place place;
    place.zone = load_time_zone(facility.time_zone);
    place.service_of.fill(-1);
    for (const Service& service : facility.services) {
        place.service_of[static_cast<std::size_t>(service.capability)] =
            static_cast<std::int16_t>(place.needs.size());
        auto& needs = place.needs.emplace_back();
        for (const Dependency& need : service.needs) {
            const auto resource = std::find_if(
                facility.resources.begin(), facility.resources.end(),
                [&](const Resource& candidate) { return candidate.name == need.resource; });
            needs.push_back(
                {static_cast<std::size_t>(resource - facility.resources.begin()), need.units});
        }
    }
    return place;
}

/// Larger is what counts: the newer, then not ready, then fewer units, then by name, so that the
/// order in which reports come in does not matter.
auto weight(const Report& report) {
    return std::tuple(
        report.at, !report.is_ready,
        -static_cast<long>(report.units.value_or(std::numeric_limits<int>::max())),
        std::tie(report.since, report.until, report.backup_until, report.expires_at, report.by));
}

bool is_counted(ResourceKind kind) {
    return kind == ResourceKind::stock || kind == ResourceKind::blood ||
           kind == ResourceKind::space;
}

/// The slot of what the report is about.
std::optional<Report>& slot(Heard& heard, const Facility& facility, const Prepared::Place& place,
                            const Report& report) {
    if (std::holds_alternative<WholeFacility>(report.about)) {
        return heard.whole;
    }
    if (const auto* capability = std::get_if<triage::Capability>(&report.about)) {
        const auto service = place.service_of[static_cast<std::size_t>(*capability)];
        if (service < 0) {
            const std::string name(triage::to_name(*capability));
            throw InputError("the report is about what the facility does not offer",
                             {{"#/about", facility.id.value() + " does not offer " + name}});
        }
        return heard.services[static_cast<std::size_t>(service)];
    }
    const std::string& name = std::get<ResourceName>(report.about).value;
    std::vector<std::string> known;
    for (std::size_t i = 0; i < facility.resources.size(); ++i) {
        if (facility.resources[i].name == name) {
            if (report.units && !is_counted(facility.resources[i].kind)) {
                throw InputError("the report counts what is not counted",
                                 {{"#/units", "'" + name + "' is not stock, blood or space"}});
            }
            return heard.resources[i];
        }
        known.push_back(facility.resources[i].name);
    }
    const auto nearest = nearest_name(name, known);
    throw InputError(
        "the report is about an unknown resource",
        {{"#/about", "'" + shortened(name) + "' is not a resource of " + facility.id.value() +
                         (nearest ? "; did you mean '" + *nearest + "'?" : "")}});
}

void check(const Report& report) {
    std::vector<FieldError> errors;
    if (report.units && *report.units < 0) {
        errors.push_back({"#/units", std::to_string(*report.units) + " is below 0"});
    }
    if (report.units && !std::holds_alternative<ResourceName>(report.about)) {
        errors.push_back({"#/units", "only stock, blood and space have units"});
    }
    if (report.since && *report.since > report.at) {
        errors.push_back({"#/since", "is later than the report itself"});
    }
    if (report.until && *report.until <= report.at) {
        errors.push_back({"#/until", "is not later than the report itself"});
    }
    if (report.backup_until && (report.is_ready || *report.backup_until <= report.at)) {
        errors.push_back({"#/backup_until", "is later than a report that says not ready"});
    }
    if (report.expires_at && !report.is_ready) {
        errors.push_back({"#/expires_at", "belongs to a report that says ready"});
    }
    if (!errors.empty()) {
        throw InputError("the report contradicts itself", errors);
    }
}

}  // namespace

FacilityRegister::FacilityRegister() : FacilityRegister(std::vector<Facility>{}) {}

FacilityRegister::FacilityRegister(std::vector<Facility> facilities, Holidays holidays) {
    check(facilities);
    std::sort(facilities.begin(), facilities.end(),
              [](const Facility& a, const Facility& b) { return a.id < b.id; });
    std::sort(holidays.begin(), holidays.end());
    auto prepared = std::make_shared<Prepared>();
    prepared->holidays = std::move(holidays);
    for (const Facility& facility : facilities) {
        prepared->places.push_back(prepare(facility));
        heard_.push_back(std::make_shared<const Heard>(
            Heard{std::nullopt, std::vector<std::optional<Report>>(facility.services.size()),
                  std::vector<std::optional<Report>>(facility.resources.size())}));
    }
    prepared->facilities = std::move(facilities);
    prepared_ = std::move(prepared);
}

std::span<const Facility> FacilityRegister::facilities() const {
    return prepared_->facilities;
}

const Holidays& FacilityRegister::holidays() const {
    return prepared_->holidays;
}

const Facility* FacilityRegister::find_facility(const FacilityId& id) const {
    const auto& all = prepared_->facilities;
    const auto found = std::lower_bound(
        all.begin(), all.end(), id,
        [](const Facility& facility, const FacilityId& asked) { return facility.id < asked; });
    return found != all.end() && found->id == id ? &*found : nullptr;
}

const Facility& FacilityRegister::facility(const FacilityId& id) const {
    if (const Facility* found = find_facility(id)) {
        return *found;
    }
    std::vector<std::string> known;
    for (const Facility& facility : facilities()) {
        known.push_back(facility.id.value());
    }
    const auto nearest = nearest_name(id.value(), known);
    throw NotFound("no facility '" + shortened(id.value(), 100) + "'" +
                   (nearest ? "; did you mean '" + *nearest + "'?" : ""));
}

std::size_t FacilityRegister::position(const FacilityId& id) const {
    return static_cast<std::size_t>(&facility(id) - prepared_->facilities.data());
}

std::vector<FacilityId> FacilityRegister::facilities_with(triage::Capability capability) const {
    std::vector<FacilityId> found;
    for (std::size_t i = 0; i < prepared_->places.size(); ++i) {
        if (prepared_->places[i].service_of[static_cast<std::size_t>(capability)] >= 0) {
            found.push_back(prepared_->facilities[i].id);
        }
    }
    return found;
}

const TimeZone& FacilityRegister::time_zone(const FacilityId& id) const {
    return prepared_->places[position(id)].zone;
}

FacilityRegister FacilityRegister::with(const Report& report) const {
    return with(std::span(&report, 1));
}

FacilityRegister FacilityRegister::with(std::span<const Report> reports) const {
    FacilityRegister next = *this;
    for (const Report& report : reports) {
        check(report);
        const std::size_t at = position(report.facility);
        auto heard = std::make_shared<Heard>(*next.heard_[at]);
        auto& kept = slot(*heard, prepared_->facilities[at], prepared_->places[at], report);
        if (!kept || weight(report) > weight(*kept)) {
            kept = report;
            next.heard_[at] = std::move(heard);
        }
    }
    return next;
}

std::vector<Report> FacilityRegister::reports() const {
    std::vector<Report> all;
    const auto add = [&](const std::optional<Report>& report) {
        if (report) {
            all.push_back(*report);
        }
    };
    for (const auto& heard : heard_) {
        add(heard->whole);
        std::for_each(heard->services.begin(), heard->services.end(), add);
        std::for_each(heard->resources.begin(), heard->resources.end(), add);
    }
    return all;
}

std::size_t FacilityRegister::report_count() const {
    return reports().size();
}

}  // namespace waybourne::facilities
