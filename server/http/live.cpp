#include <fmt/format.h>

#include "server/http/changes.hpp"
#include "server/http/query.hpp"
#include "server/http/resources.hpp"
#include "server/referrals/permission.hpp"

namespace waybourne::server {

namespace {

constexpr std::size_t most_steps_at_once = 500;
/// So that a network in between does not take a quiet stream for a dead one. Common practice (the
/// HTML standard, section 9.2.7, advises every 15 seconds or so).
constexpr std::chrono::seconds heartbeat{15};
/// How soon a stream notices that its follower has gone.
constexpr std::chrono::milliseconds slice{250};

std::string_view after_slash(const std::string& subject) {
    return std::string_view{subject}.substr(subject.find('/') + 1);
}

/// What the caller may know of a step; empty: nothing. Only that something changed, and where to
/// look: everything else is asked for, under the caller's own permissions.
std::string told_of(const Records& records, const Caller& caller, const Step& step) {
    JsonWriter json;
    std::string_view name;
    json.begin_object();
    if (const auto code = code_of(step.subject)) {
        const auto summary = records.find_summary(*code);
        if (!summary || !may_see(caller, *summary)) {
            return {};
        }
        name = "referral";
        json.member("code", *code);
        json.member("what", step.kind.substr(step.kind.find('.') + 1));
        json.member("state", wire_name(summary->state));
        json.member("practice", summary->is_practice);
    } else if (step.kind == reported_kind) {
        name = "readiness";
        json.member("facility", after_slash(step.subject));
    } else if (step.kind == noticed_kind || step.kind == lifted_kind) {
        name = "road_conditions";
        json.member("id", after_slash(step.subject));
    } else if (const auto shift = shift_in(step.subject)) {
        if (!may_send_vehicles(caller)) {
            return {};
        }
        name = "shift";
        json.member("id", *shift);
    } else if (const auto vehicle = vehicle_in(step.subject)) {
        if (!may_see_vehicle(caller, *vehicle)) {
            return {};
        }
        name = "vehicle";
        json.member("vehicle", *vehicle);
    } else {
        return {};
    }
    json.member("at", step.at).end_object();
    return fmt::format("id: {}\nevent: {}\ndata: {}\n\n", step.sequence, name, json.take());
}

/// Sends everything after `seen` that there is; false when nobody listens any more.
bool send_new(const Records& records, const Caller& caller, Follower& follower,
              journal::Sequence& seen) {
    for (auto steps = records.steps_after(seen, most_steps_at_once); !steps.empty();
         steps = records.steps_after(seen, most_steps_at_once)) {
        std::string text;
        for (const Step& step : steps) {
            seen = step.sequence;
            text += told_of(records, caller, step);
        }
        if (!text.empty() && !follower.send(text)) {
            return false;
        }
    }
    return true;
}

void follow(const Records& records, const Caller& caller, Follower& follower,
            journal::Sequence seen) {
    using std::chrono::steady_clock;
    if (!follower.send(fmt::format("retry: 2000\nid: {}\n: following\n\n", seen))) {
        return;
    }
    auto quiet_since = steady_clock::now();
    while (follower.is_there()) {
        const journal::Sequence before = seen;
        if (records.wait_beyond(seen, slice) > seen && !send_new(records, caller, follower, seen)) {
            return;
        }
        if (seen != before) {
            quiet_since = steady_clock::now();
        } else if (steady_clock::now() - quiet_since >= heartbeat) {
            // The id too: who has missed nothing but what it may not see resumes from here.
            if (!follower.send(fmt::format("id: {}\n: still here\n\n", seen))) {
                return;
            }
            quiet_since = steady_clock::now();
        }
    }
}

journal::Sequence resume_after(const std::string& last_event_id, journal::Sequence now) {
    return std::min(find_sequence(last_event_id).value_or(now), now);
}

}  // namespace

std::vector<Endpoint> live_endpoints(const Application& application) {
    const auto live = [&application](const HttpRequest& request) {
        const Records& records = records_of(application);
        require_allowed(may_use_referrals(request.caller), request.caller);
        const journal::Sequence seen = resume_after(request.last_event_id, records.sequence());
        HttpResponse response{200, {}, "text/event-stream"};
        response.headers.emplace_back("Cache-Control", "no-store");
        if (request.method != "HEAD") {
            response.stream = [&records, caller = request.caller, seen](Follower& follower) {
                follow(records, caller, follower, seen);
            };
        }
        return response;
    };
    return {{"GET", "/v1/live", Privacy::personal, live}};
}

}  // namespace waybourne::server
