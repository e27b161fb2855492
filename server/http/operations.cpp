#include <fmt/format.h>

#include "server/answer_json.hpp"
#include "server/http/resources.hpp"
#include "server/messages/texting.hpp"

namespace waybourne::server {

namespace {

/// Alive: it answers at all.
HttpResponse show_alive(const HttpRequest& /*request*/) {
    return {200, R"({"status":"alive"})"};
}

/// Ready: a snapshot is loaded, or there would be no server.
HttpResponse show_ready(const Application& application) {
    const auto snapshot = application.snapshot.get();
    JsonWriter json;
    json.begin_object().member("status", "ready").member("district", snapshot->district.name);
    json.key("protocol").begin_object().member("id", snapshot->protocol.id);
    json.member("version", snapshot->protocol.version);
    json.member("approved", snapshot->protocol.approved_by.has_value()).end_object();
    json.member("engine", to_name(snapshot->roads->engine()));
    json.member("journal", application.records != nullptr);
    json.key("snapshot");
    write_snapshot_stamp(json, stamp_of(*snapshot));
    return {200, json.end_object().take()};
}

/// Nothing of practice cases: nobody is texted about them.
std::string message_metrics(const Application& application) {
    if (application.texting == nullptr) {
        return {};
    }
    std::string lines =
        "# HELP waybourne_messages Text messages of open cases.\n"
        "# TYPE waybourne_messages gauge\n";
    for (const auto& [state, count] : application.texting->outbox().counts()) {
        lines += fmt::format("waybourne_messages{{state=\"{}\"}} {}\n", wire_name(state), count);
    }
    return lines;
}

HttpResponse show_metrics(const Application& application) {
    const auto snapshot = application.snapshot.get();
    const SnapshotStamp stamp = stamp_of(*snapshot);
    const std::string more = fmt::format(
        "# HELP waybourne_snapshot_info What answers are made from.\n"
        "# TYPE waybourne_snapshot_info gauge\n"
        "waybourne_snapshot_info{{district=\"{}\",map=\"{}\",protocol=\"{}\","
        "protocol_version=\"{}\",engine=\"{}\"}} 1\n"
        "# HELP waybourne_snapshot_version Counts the changes since the start.\n"
        "# TYPE waybourne_snapshot_version gauge\n"
        "waybourne_snapshot_version {}\n"
        "# HELP waybourne_facilities Facilities in the register.\n"
        "# TYPE waybourne_facilities gauge\n"
        "waybourne_facilities {}\n"
        "# HELP waybourne_reports Newest reports held.\n"
        "# TYPE waybourne_reports gauge\n"
        "waybourne_reports {}\n",
        to_label(snapshot->district.name), to_label(stamp.map_sha256),
        to_label(snapshot->protocol.id), to_label(snapshot->protocol.version),
        to_name(snapshot->roads->engine()), stamp.version, stamp.facilities, stamp.reports);
    return {200, application.metrics.render(more + message_metrics(application)),
            "text/plain; version=0.0.4; charset=utf-8"};
}

}  // namespace

std::vector<Endpoint> operation_endpoints(const Application& application) {
    const auto ready = [&application](const HttpRequest&) { return show_ready(application); };
    const auto metrics = [&application](const HttpRequest&) { return show_metrics(application); };
    const auto openapi = [&application](const HttpRequest& request) {
        return with_entity_tag({200, application.openapi, "application/yaml"},
                               request.if_none_match);
    };
    return {{"GET", "/livez", Privacy::open, show_alive},
            {"GET", "/readyz", Privacy::open, ready},
            {"GET", "/metrics", Privacy::open, metrics},
            {"GET", "/openapi.yaml", Privacy::open, openapi}};
}

}  // namespace waybourne::server
