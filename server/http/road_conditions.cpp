#include "server/json/road_conditions.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "journal/digest.hpp"
#include "server/http/changes.hpp"
#include "server/http/resources.hpp"
#include "server/json/recorded.hpp"
#include "server/json/referral_event.hpp"
#include "server/named_place.hpp"
#include "server/referrals/permission.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;

constexpr double farthest_m = 20'000;
constexpr Seconds longest_notice = 366 * 24h;
constexpr std::size_t longest_reason = 200;

enum class Kind { closed, slower, open };

/// A call before it is known which roads it means.
struct RoadReport {
    Kind kind = Kind::closed;
    routing::RoadChange change;
};

/// A ring of twelve points around a place.
routing::Area around(const GeoPoint& centre, double metres) {
    constexpr int corners = 12;
    constexpr double degrees = 180 / std::numbers::pi;
    const double up = metres / earth_mean_radius.value() * degrees;
    const double across = up / std::cos(centre.latitude().degrees / degrees);
    routing::Area area;
    for (int corner = 0; corner < corners; ++corner) {
        const double turn = 2 * std::numbers::pi * corner / corners;
        area.ring.emplace_back(Latitude{centre.latitude().degrees + up * std::sin(turn)},
                               Longitude{centre.longitude().degrees + across * std::cos(turn)});
    }
    return area;
}

/// `place`: a facility or a settlement by its id or name, and how far around it.
routing::Where parse_near(ObjectReader& body, const Snapshot& snapshot, Errors& errors) {
    ObjectReader reader{*body.take("near"), body.pointer_to("near"), errors};
    reader.require("place");
    reader.require("within_m");
    const std::string place = reader.text("place").value_or("");
    const double within = reader.number("within_m", {1, farthest_m}).value_or(1);
    const auto found = places_called(snapshot, place);
    if (found.empty()) {
        reader.refuse("place", "is neither the id nor the name of a facility or a settlement");
    } else if (found.size() > 1) {
        reader.refuse("place", "is the name of several places: give the id");
    }
    reader.finish();
    return found.size() == 1 ? routing::Where{around(found.front(), within)}
                             : routing::Where{routing::RoadName{}};
}

void parse_period(ObjectReader& body, RoadReport& report, Instant now) {
    routing::Period& period = report.change.period;
    period.from = body.instant("from");
    period.until = body.instant("until");
    if (report.kind == Kind::open) {
        return;
    }
    body.require("until");
    if (period.until && (*period.until <= now || *period.until > now + longest_notice ||
                         (period.from && *period.until <= *period.from))) {
        body.refuse("until", "must lie after now and `from`, within a year");
    }
}

RoadReport parse_road_report(std::string_view json, const Snapshot& snapshot, Instant now) {
    static const std::vector<std::string> kinds{"closed", "slower", "open"};
    const JsonValue value = parse_json(json);
    Errors errors;
    ObjectReader body{value, "#", errors};
    RoadReport report;
    body.require("kind");
    report.kind = static_cast<Kind>(body.choice("kind", kinds).value_or(0));
    if ((value.find("where") == nullptr) == (value.find("near") == nullptr)) {
        body.refuse("where", "give either where or near");
    } else if (value.find("where") != nullptr) {
        report.change.where = parse_where(body, "where", errors);
    } else {
        report.change.where = parse_near(body, snapshot, errors);
    }
    report.change.slower_by = body.number("slower_by", {1, slowest});
    if ((report.kind == Kind::slower) != report.change.slower_by.has_value()) {
        body.refuse("slower_by", "belongs to what is slower, and only there");
    }
    parse_period(body, report, now);
    report.change.reason = body.text("reason").value_or("");
    if (report.change.reason.size() > longest_reason) {
        body.refuse("reason", "is longer than 200 bytes");
    }
    body.finish();
    throw_if_any(errors);
    return report;
}

std::vector<routing::PieceId> pieces_meant(const Snapshot& snapshot, const routing::Where& where) {
    auto pieces = routing::pieces_at(snapshot.roads->network(), where);
    if (pieces.empty()) {
        throw InputError("no road of the map is meant",
                         {{"#/where", "no road of the map has that id or name, or lies there"}});
    }
    return pieces;
}

/// Every known change that touches one of the pieces.
std::vector<std::string> changes_on(const Snapshot& snapshot,
                                    const std::vector<routing::PieceId>& pieces) {
    std::vector<std::string> ids;
    for (const routing::RoadChange& change : snapshot.roads->changes()) {
        const auto other = routing::pieces_at(snapshot.roads->network(), change.where);
        std::vector<routing::PieceId> both;
        std::set_intersection(pieces.begin(), pieces.end(), other.begin(), other.end(),
                              std::back_inserter(both));
        if (!both.empty()) {
            ids.push_back(change.id);
        }
    }
    return ids;
}

HttpResponse road_state(const Application& application, int status) {
    JsonWriter json;
    write_road_state(json, *application.snapshot.get(), application.clock.now(),
                     application.records == nullptr ? std::vector<RoadNotice>{}
                                                    : application.records->notices());
    return {status, json.take()};
}

HttpResponse report_roads(const Application& application, const HttpRequest& request) {
    records_of(application);
    const auto snapshot = application.snapshot.get();
    RoadReport report = parse_road_report(request.body, *snapshot, application.clock.now());
    const auto pieces = pieces_meant(*snapshot, report.change.where);
    RoadCall said;
    if (report.kind == Kind::open) {
        said.lifted = changes_on(*snapshot, pieces);
    } else {
        constexpr std::size_t id_bytes = 8;
        report.change.id = "r-" + journal::to_hex(journal::random_bytes(id_bytes));
        said.change = report.change;
    }
    application.desk->report_road(call_of(request), said);
    if (application.look_again) {
        application.look_again();
    }
    return road_state(application, 200);
}

HttpResponse lift(const Application& application, const HttpRequest& request) {
    records_of(application);
    const std::string& id = request.path_values.at(0);
    const auto snapshot = application.snapshot.get();
    const auto& changes = snapshot->roads->changes();
    if (std::none_of(changes.begin(), changes.end(), [&](const auto& c) { return c.id == id; })) {
        throw NotFound("no road condition has that id");
    }
    application.desk->report_road(call_of(request), {{}, {id}});
    return road_state(application, 200);
}

}  // namespace

std::vector<Endpoint> road_condition_endpoints(const Application& application) {
    const auto show = [&application](const HttpRequest& /*request*/) {
        return road_state(application, 200);
    };
    const auto post = [&application](const HttpRequest& request) {
        return report_roads(application, request);
    };
    const auto end = [&application](const HttpRequest& request) {
        return lift(application, request);
    };
    return {{"GET", "/v1/road-conditions", Privacy::open, show},
            {"POST", "/v1/road-conditions", Privacy::open, post},
            {"DELETE", "/v1/road-conditions/{id}", Privacy::open, end}};
}

}  // namespace waybourne::server
