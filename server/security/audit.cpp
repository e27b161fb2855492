#include "server/security/audit.hpp"

#include "server/json/object_reader.hpp"
#include "server/json/writer.hpp"
#include "server/problem.hpp"
#include "server/security/access.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

std::string day_of(Instant at) {
    constexpr std::size_t date_length = 10;
    return to_rfc3339(at).substr(0, date_length);
}

std::string to_body(const Read& read) {
    JsonWriter json;
    json.begin_object().member("path", read.path).member("shown", read.shown);
    return json.end_object().take();
}

Read parse_read(const journal::Envelope& envelope) {
    Read read{envelope.at, envelope.who, {}, {}};
    const JsonValue body = parse_json(envelope.body.value_or("{}"));
    if (const JsonValue* path = body.find("path")) {
        read.path = path->text();
    }
    if (const JsonValue* shown = body.find("shown")) {
        for (const JsonValue& one : shown->items()) {
            read.shown.push_back(one.text());
        }
    }
    return read;
}

/// The pattern with its values: ids only, as paths are.
std::string filled(const std::string& pattern, const std::vector<std::string>& values) {
    std::string path;
    std::size_t at = 0;
    for (const std::string& value : values) {
        const std::size_t open = pattern.find('{', at);
        path += pattern.substr(at, open - at) + value;
        at = pattern.find('}', open) + 1;
    }
    return path + pattern.substr(at);
}

}  // namespace

journal::Append to_append(const Read& read) {
    return {read.at, read.who, {}, {{read_kind, "audit/" + day_of(read.at), to_body(read)}}};
}

void AuditTrail::note(const Read& read) {
    const std::lock_guard lock{mutex_};
    kept_back_.push_back(read);
    try {
        while (!kept_back_.empty()) {
            store_(to_append(kept_back_.front()));
            kept_back_.pop_front();
        }
    } catch (const Unavailable&) {
        log_.event(Level::error, "audit_not_written",
                   {{"kept_back", std::to_string(kept_back_.size())}});
        if (kept_back_.size() > most_kept_back) {
            kept_back_.pop_back();
            throw Unavailable("what is read can no longer be noted, so nothing is shown");
        }
    }
}

std::size_t AuditTrail::kept_back() const {
    const std::lock_guard lock{mutex_};
    return kept_back_.size();
}

ReadPage reads_of_day(const journal::Journal& journal, const std::string& day,
                      journal::Sequence after, std::size_t most) {
    ReadPage page;
    const auto envelopes = journal.read_subject("audit/" + day, after, most);
    for (const journal::Envelope& envelope : envelopes) {
        if (envelope.kind == read_kind && !envelope.is_redacted()) {
            page.reads.emplace_back(envelope.sequence, parse_read(envelope));
        }
    }
    if (envelopes.size() == most) {
        page.next = envelopes.back().sequence;
    }
    return page;
}

Endpoint audited(Endpoint endpoint, AuditTrail& trail, const Clock& clock) {
    const Access* access = find_access(endpoint.method, endpoint.pattern);
    if (access == nullptr || !access->shows_a_person) {
        return endpoint;
    }
    endpoint.handle = [inner = std::move(endpoint.handle), pattern = endpoint.pattern, &trail,
                       &clock](const HttpRequest& request) {
        const auto note = [&](const std::vector<std::string>& shown) {
            trail.note(
                {clock.now(), request.caller.who, filled(pattern, request.path_values), shown});
        };
        try {
            HttpResponse response = inner(request);
            constexpr int first_refusal = 400;
            if (response.status < first_refusal || !response.shown.empty()) {
                note(response.shown);
            }
            return response;
        } catch (const HttpRefusal& refusal) {
            if (!refusal.problem().shown.empty()) {
                note(refusal.problem().shown);
            }
            throw;
        }
    };
    return endpoint;
}

}  // namespace waybourne::server
