#include "tests/server/recorded_sample.hpp"

#include <doctest/doctest.h>

#include "journal/open_journal.hpp"

namespace waybourne::server::test {

std::string opening_body(const std::string& more) {
    return R"({"request": {
  "readings": [{"taken_at": "2026-03-04T09:35:00Z", "systolic_mmhg": 165, "diastolic_mmhg": 112,
                "pulse_per_minute": 96}],
  "findings": {"status": "pregnant", "gestation_weeks": 34, "severe_headache": "yes"},
  "from": {"facility": "kezhiru-clinic"}, "transport": {"means": "car", "ready_in_minutes": 10},
  "road_conditions": {"surface": "wet", "light": "day"}},
 "sender": "kezhiru-clinic", "to": "sorvrith-hospital")" +
           (more.empty() ? "" : ", " + more) + "}";
}

RecordedSample::RecordedSample(std::filesystem::path folder, HttpSettings settings)
    : application_{Current<Snapshot>{sample_snapshot()}, clock_, metrics_, workers_,
                   "openapi: 3.1.0\n"} {
    const auto file = (folder.empty() ? own_folder_.path() : folder) / "journal.db";
    records_ = std::make_unique<Records>(journal::open_journal(file.string()),
                                         application_.snapshot, clock_);
    desk_ = std::make_unique<Desk>(*records_, application_.snapshot, clock_);
    watch_ = std::make_unique<DeadlineWatch>(*records_, application_.snapshot, clock_, log_);
    application_.records = records_.get();
    application_.desk = desk_.get();
    application_.planning_limit = unhurried;
    application_.look_again = [this] { watch_->look(); };
    server_ = std::make_unique<HttpServer>(on_free_port(std::move(settings)),
                                           all_endpoints(application_), metrics_, log_);
    port_ = server_->bind();
    thread_ = std::thread{[this] { server_->run(); }};
}

RecordedSample::~RecordedSample() {
    server_->stop();
    thread_.join();
}

std::string RecordedSample::log_text() {
    return *log_text_;
}

Reply RecordedSample::send(const std::string& method, const std::string& path,
                           const std::string& body, const std::string& fields) const {
    RawClient client{port_};
    std::string bytes = method + " " + path + " HTTP/1.1\r\nHost: localhost\r\n" + fields;
    if (method == "POST" || method == "PUT") {
        bytes +=
            "Content-Type: application/json\r\nContent-Length: " + std::to_string(body.size()) +
            "\r\n";
    }
    client.send(bytes + "\r\n" + body);
    return parse_reply(client.receive());
}

std::string RecordedSample::open(const std::string& more) const {
    const Reply reply = send("POST", "/v1/referrals", opening_body(more));
    REQUIRE_MESSAGE(reply.status == 201, reply.body);
    return text_at(parse_json(reply.body), "code");
}

Reply RecordedSample::tell(const std::string& code, const std::string& body) const {
    const Reply now = send("GET", "/v1/referrals/" + code);
    return send("POST", "/v1/referrals/" + code + "/events", body,
                "If-Match: " + now.field("ETag") + "\r\n");
}

JsonValue RecordedSample::show(const std::string& code) const {
    const Reply reply = send("GET", "/v1/referrals/" + code);
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    return parse_json(reply.body);
}

const JsonValue& at(const JsonValue& value, const std::string& path) {
    const std::size_t dot = path.find('.');
    const JsonValue* found = value.find(path.substr(0, dot));
    REQUIRE_MESSAGE(found != nullptr, path);
    return dot == std::string::npos ? *found : at(*found, path.substr(dot + 1));
}

std::string text_at(const JsonValue& value, const std::string& path) {
    const JsonValue& found = at(value, path);
    return found.kind() == JsonKind::text ? found.text() : std::string(to_words(found.kind()));
}

std::vector<std::string> texts_at(const JsonValue& value, const std::string& path) {
    std::vector<std::string> texts;
    for (const JsonValue& item : at(value, path).items()) {
        texts.push_back(item.text());
    }
    return texts;
}

}  // namespace waybourne::server::test
