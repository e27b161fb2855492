#include "facilities/capable.hpp"

#include <algorithm>
#include <concepts>

#include "facilities/internal/evidence.hpp"
#include "facilities/internal/prepared.hpp"
#include "facilities/internal/reason.hpp"

namespace waybourne::facilities {

namespace {

/// How far ahead of now a moment is looked for at which all holds together; later is no time that
/// helps anybody. Counted from now, not from arrival, so that arriving later never finds more.
constexpr Seconds horizon = 60 * 24h;

const Report* heard_by(const std::optional<Report>& report, Instant now) {
    return report && report->at <= now ? &*report : nullptr;
}

/// One question: can this facility give this capability to a woman who arrives then?
class Inquiry {
public:
    Inquiry(const FacilityRegister& facilities, std::size_t position, triage::Capability capability,
            const Arrival& arrival)
        : facility_(facilities.prepared().facilities[position]),
          place_(facilities.prepared().places[position]),
          holidays_(facilities.prepared().holidays),
          heard_(facilities.heard(position)),
          arrival_(arrival.at),
          now_(arrival.now),
          telling_{arrival.now, &place_.zone},
          says_why_(arrival.reasons == Reasons::told),
          called_at_(std::min(arrival.called_ahead_at.value_or(arrival_), arrival_)) {
        answer_.capability = capability;
    }

    Readiness answer() {
        const auto index = place_.service_of[static_cast<std::size_t>(answer_.capability)];
        if (index < 0) {
            answer_.state = ReadinessState::not_ready;
            tell([&] { return Message{"facilities.not_offered", {{"what", capability_words()}}}; });
            return std::move(answer_);
        }
        service_index_ = static_cast<std::size_t>(index);
        const std::optional<Instant> start = first_moment();
        if (!start) {
            refuse();
            return std::move(answer_);
        }
        settle(*start);
        return std::move(answer_);
    }

private:
    using Need = FacilityRegister::Prepared::Need;

    const Service& service() const { return facility_.services[service_index_]; }
    const std::vector<Need>& needs() const { return place_.needs[service_index_]; }
    std::string capability_words() const { return in_words(triage::to_name(answer_.capability)); }
    const OpeningHours* hours() const {
        const auto& own = service().hours ? service().hours : facility_.hours;
        return own ? &*own : nullptr;
    }

    const Report* service_report() const { return heard_by(heard_.services[service_index_], now_); }
    const Report* ready_report() const {
        const Report* report = service_report();
        return report != nullptr && report->is_ready ? report : nullptr;
    }

    Evidence about_whole() const {
        return {&ageing_of_hours(), heard_by(heard_.whole, now_), ready_report(),
                facility_.hours_confirmed_at && *facility_.hours_confirmed_at <= now_
                    ? facility_.hours_confirmed_at
                    : std::nullopt};
    }
    Evidence about_service() const {
        return {&ageing_of(answer_.capability), service_report(), nullptr};
    }
    Evidence about(const Need& need) const {
        return {&ageing_of(facility_.resources[need.resource].kind),
                heard_by(heard_.resources[need.resource], now_), ready_report(), std::nullopt,
                need.units};
    }

    /// The first moment from `from` on at which the rota has it there, or it was called in time.
    std::optional<Instant> first_there(const Resource& resource, Instant from) const {
        if (!resource.hours) {
            return from;
        }
        const auto there = resource.hours->next_open(from, place_.zone, holidays_);
        if (!resource.on_call || there == from) {
            return there;
        }
        const auto called = resource.on_call->next_open(
            std::max(from, called_at_ + resource.call_in), place_.zone, holidays_);
        return there && called ? std::min(there, called) : there ? there : called;
    }

    /// The first moment from `from` on at which it is open, and not reported closed.
    std::optional<Instant> first_open(Instant from) const {
        const auto free = first_not_blocked(about_whole(), from, now_);
        return !free || hours() == nullptr ? free
                                           : hours()->next_open(*free, place_.zone, holidays_);
    }

    std::optional<Instant> first_with(const Need& need, Instant from) const {
        const auto free = first_not_blocked(about(need), from, now_);
        return free ? first_there(facility_.resources[need.resource], *free) : free;
    }

    /// One round over all it rests on; each may only move the moment on.
    std::optional<Instant> moved_on(Instant from) const {
        std::optional<Instant> at = first_open(from);
        if (at) {
            at = first_not_blocked(about_service(), *at, now_);
        }
        for (const Need& need : needs()) {
            if (!at) {
                return at;
            }
            at = first_with(need, *at);
        }
        return at;
    }

    /// The least moment that no round moves on. Each round's result grows with `from`, and what is
    /// possible only shrinks as arrival grows, so the answer never falls as arrival grows.
    std::optional<Instant> first_moment() const {
        Instant at = std::max(arrival_, called_at_ + service().lead);
        const Instant end = now_ + horizon;
        while (at <= end) {
            const auto next = moved_on(at);
            if (!next || *next == at) {
                return next;
            }
            at = *next;
        }
        return std::nullopt;
    }

    /// Not ready, and every reason for it.
    void refuse() {
        answer_.state = ReadinessState::not_ready;
        explain_delay();
        if (answer_.reasons.empty()) {
            tell([&] {
                return Message{"facilities.never_together", {{"what", capability_words()}}};
            });
        }
    }

    /// What holds care up after she has arrived: everything that is not there then.
    void explain_delay() {
        explain_closed();
        const Finding finding = find(about_service(), arrival_, now_);
        if (finding.claim == Claim::not_ready) {
            rests_on(finding.report->at);
            tell([&] {
                return until_or_age("facilities.none_until", "facilities.none", capability_words(),
                                    *finding.report);
            });
        }
        for (const Need& need : needs()) {
            explain_missing(need);
        }
    }

    /// Why a report says no: until when, or, where it does not say, since when.
    Message until_or_age(const char* until_id, const char* age_id, const std::string& what,
                         const Report& report) const {
        return report.until ? until(until_id, what, *report.until, telling_)
                            : age(age_id, what, report.at, telling_);
    }

    void explain_closed() {
        const Finding finding = find(about_whole(), arrival_, now_);
        if (finding.claim == Claim::not_ready) {
            rests_on(finding.report->at);
            tell([&] {
                return until_or_age("facilities.closed_until", "facilities.reported_closed",
                                    facility_.name, *finding.report);
            });
        }
        if (hours() == nullptr || !says_why_) {
            return;
        }
        const auto opens = hours()->next_open(arrival_, place_.zone, holidays_);
        // A service's own hours are about that service; the place as such may be open.
        const std::string what = service().hours ? capability_words() : facility_.name;
        const std::string prefix = service().hours ? "facilities.none_" : "facilities.closed_";
        if (!opens) {
            tell({prefix + "always", {{"what", what}}});
        } else if (*opens > arrival_) {
            tell(until(prefix + "until", what, *opens, telling_));
        }
    }

    void explain_missing(const Need& need) {
        const Resource& resource = facility_.resources[need.resource];
        const Finding finding = find(about(need), arrival_, now_);
        if (finding.claim == Claim::not_ready) {
            rests_on(finding.report->at);
            tell([&] { return why_blocked(resource, need.units, finding, telling_); });
            return;
        }
        if (!says_why_) {
            return;
        }
        const auto there = first_there(resource, arrival_);
        if (!there) {
            tell({"facilities.none_always", {{"what", in_words(resource.name)}}});
        } else if (*there > arrival_ && !is_called_in(resource, *there)) {
            tell(until("facilities.none_until", in_words(resource.name), *there, telling_));
        }
    }

    bool is_called_in(const Resource& resource, Instant at) const {
        return resource.hours && resource.on_call &&
               !resource.hours->is_open(at, place_.zone, holidays_) &&
               resource.on_call->is_open(at, place_.zone, holidays_);
    }

    /// It can begin then: how surely, and what she waits for.
    void settle(Instant start) {
        answer_.ready_at = start;
        answer_.chance = 1;
        if (start > arrival_) {
            explain_delay();
            explain_lead(start);
        }
        bool is_confirmed = weigh_hours(start);
        if (needs().empty()) {
            is_confirmed &=
                weigh(find(about_service(), start, now_), triage::to_name(answer_.capability));
        } else {
            weigh_doubtful_service(start, is_confirmed);
        }
        for (const Need& need : needs()) {
            const Finding finding = find(about(need), start, now_);
            const Resource& resource = facility_.resources[need.resource];
            is_confirmed &= weigh(finding, resource.name);
            if (finding.claim == Claim::ready && !finding.report->is_ready) {
                tell([&] { return why_blocked(resource, need.units, finding, telling_); });
            }
        }
        answer_.state = !is_confirmed       ? ReadinessState::unconfirmed
                        : start == arrival_ ? ReadinessState::ready
                                            : ReadinessState::ready_by;
        if (answer_.state == ReadinessState::ready_by && answer_.reasons.empty()) {
            tell([&] {
                return until("facilities.none_until", capability_words(), start, telling_);
            });
        }
    }

    void explain_lead(Instant start) {
        if (!says_why_) {
            return;
        }
        for (const Need& need : needs()) {
            const Resource& resource = facility_.resources[need.resource];
            if (is_called_in(resource, start)) {
                tell(takes("facilities.called_in", in_words(resource.name), resource.call_in));
            }
        }
        if (called_at_ + service().lead > arrival_) {
            tell(takes("facilities.lead", capability_words(), service().lead));
        }
    }

    bool weigh_hours(Instant start) {
        if (hours() == nullptr) {
            answer_.chance *= ageing_of_hours().long_run_share;
            tell([&] { return Message{"facilities.hours_unknown", {{"what", facility_.name}}}; });
            return false;
        }
        const Finding finding = find(about_whole(), start, now_);
        answer_.chance *= finding.chance;
        if (finding.is_confirmed) {
            return true;
        }
        tell([&] {
            return finding.claim == Claim::never_heard
                       ? Message{"facilities.hours_never_confirmed", {{"what", facility_.name}}}
                   : finding.claim == Claim::over
                       ? why_unconfirmed(facility_.name, finding, telling_)
                       : age("facilities.hours_confirmed", facility_.name, *finding.said_at,
                             telling_);
        });
        return false;
    }

    /// A service with resources needs no report of its own; but one that said "not ready" and has
    /// run out, or grown old without a newer "ready", leaves a doubt.
    void weigh_doubtful_service(Instant start, bool& is_confirmed) {
        const Finding finding = find(about_service(), start, now_);
        const bool is_doubt =
            finding.report != nullptr && !finding.report->is_ready && finding.claim != Claim::ready;
        if (is_doubt) {
            is_confirmed &= weigh(finding, triage::to_name(answer_.capability));
        }
    }

    /// @param name of the resource or the capability
    bool weigh(const Finding& finding, std::string_view name) {
        answer_.chance *= finding.chance;
        if (finding.said_at) {
            rests_on(*finding.said_at);
        }
        if (!finding.is_confirmed) {
            tell([&] { return why_unconfirmed(in_words(name), finding, telling_); });
        }
        return finding.is_confirmed;
    }

    void rests_on(Instant said_at) {
        answer_.reported_at =
            answer_.reported_at ? std::min(*answer_.reported_at, said_at) : said_at;
    }

    void tell(Message reason) {
        auto& reasons = answer_.reasons;
        if (std::find(reasons.begin(), reasons.end(), reason) == reasons.end()) {
            reasons.push_back(std::move(reason));
        }
    }
    /// Puts the reason into words only where somebody reads it.
    template <std::invocable Why>
    void tell(const Why& why) {
        if (says_why_) {
            tell(why());
        }
    }

    const Facility& facility_;
    const FacilityRegister::Prepared::Place& place_;
    const Holidays& holidays_;
    const FacilityRegister::Heard& heard_;
    Instant arrival_;
    Instant now_;
    Telling telling_;
    bool says_why_;
    Instant called_at_;
    std::size_t service_index_ = 0;
    Readiness answer_;
};

}  // namespace

Readiness readiness(const FacilityRegister& facilities, const FacilityId& facility,
                    triage::Capability capability, Instant arrival, Instant now,
                    std::optional<Instant> called_ahead_at) {
    return readiness_at(facilities, facilities.position(facility), capability,
                        {arrival, now, called_ahead_at});
}

Readiness readiness_at(const FacilityRegister& facilities, std::size_t position,
                       triage::Capability capability, const Arrival& arrival) {
    return Inquiry(facilities, position, capability, arrival).answer();
}

}  // namespace waybourne::facilities
