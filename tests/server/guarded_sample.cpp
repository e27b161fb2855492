#include "tests/server/guarded_sample.hpp"

#include <unistd.h>

#include <fstream>
#include <regex>

#include "server/json/value.hpp"

namespace waybourne::server::test {

namespace fs = std::filesystem;

PrivateFolder::PrivateFolder(const std::filesystem::path& in) {
    std::string name = (in / "waybourne_keys_XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) {
        throw std::runtime_error("no temporary folder");
    }
    path_ = name;
}

PrivateFolder::~PrivateFolder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
}

GuardSettings quick_settings() {
    GuardSettings settings;
    settings.cost = quick_cost;
    const Rate without_end{1e6, 1e6};
    settings.ordinary = without_end;
    settings.urgent = without_end;
    settings.squares = without_end;
    settings.anonymous = without_end;
    settings.files = without_end;
    settings.failures = without_end;
    settings.look_at_keys_every = std::chrono::milliseconds{0};
    return settings;
}

fs::path GuardedSample::with_keys(HashCost cost) {
    fs::path file = folder_.path() / "keys.json";
    std::vector<Key> all;
    for (const Role role : all_roles) {
        Caller caller;
        caller.who = to_name(role);
        caller.role = role;
        if (role == Role::health_worker || role == Role::facility) {
            caller.facilities = {FacilityId{"kezhiru-clinic"}};
        }
        NewKey made = make_key(caller, clock_.now(), cost);
        keys_[role] = made.text;
        all.push_back(std::move(made.key));
    }
    change_keys(file, [&](const Keys&) { return Keys{all}; });
    return file;
}

GuardedSample::GuardedSample(const GuardSettings& settings, HttpSettings http)
    : keys_file_(with_keys(settings.cost)),
      guard_(keys_file_, clock_, log_, settings),
      application_{Current<Snapshot>{sample_snapshot()},
                   clock_,
                   metrics_,
                   workers_,
                   "openapi: 3.1.0\n",
                   &guard_,
                   nullptr,
                   nullptr,
                   nullptr,
                   {},
                   &packs_,
                   {},
                   sample_page()},
      server_(on_free_port(std::move(http)), all_endpoints(application_), metrics_, log_, &guard_),
      port_(server_.bind()),
      thread_([this] { server_.run(); }) {}

GuardedSample::~GuardedSample() {
    stop();
}

std::string GuardedSample::stop() {
    if (thread_.joinable()) {
        server_.stop();
        thread_.join();
    }
    return *log_text_;
}

Reply GuardedSample::send(const Ask& ask) const {
    RawClient client{port_, ask.from};
    std::string bytes = ask.method + " " + ask.path + " HTTP/1.1\r\nHost: 127.0.0.1\r\n";
    if (!ask.authorization.empty()) {
        bytes += "Authorization: " + ask.authorization + "\r\n";
    }
    if (ask.method == "POST" || ask.method == "PUT") {
        bytes +=
            "Content-Type: application/json\r\nContent-Length: " + std::to_string(ask.body.size()) +
            "\r\n";
    }
    client.send(bytes + "Connection: close\r\n\r\n" + ask.body);
    return parse_reply(client.receive());
}

Reply GuardedSample::exchange(const std::string& authorization, const std::string& from) const {
    return send({"POST", "/v1/tokens", authorization, "{}", from});
}

std::string GuardedSample::token(Role role) {
    return text_member(exchange("Waybourne-Key " + key(role)).body, "token");
}

void GuardedSample::remove_key(Role role) {
    change_keys(keys_file_, [&](const Keys& keys) {
        std::vector<Key> left;
        for (const Key& one : keys.all()) {
            if (one.caller.role != role) {
                left.push_back(one);
            }
        }
        return Keys{std::move(left)};
    });
}

std::string text_member(const std::string& json, const std::string& name) {
    const JsonValue value = parse_json(json);
    const JsonValue* member = value.find(name);
    return member == nullptr ? "" : member->text();
}

std::vector<Described> described_operations() {
    const std::regex path_line{R"(^  (/\S*):$)"};
    const std::regex method_line{R"(^    (get|post|put|patch|delete):$)"};
    const std::regex roles_line{R"(^      x-roles: \[(.*)\]$)"};
    std::ifstream document{std::string{WAYBOURNE_SOURCE_DIR} + "/docs/openapi.yaml"};
    std::vector<Described> operations;
    std::string path;
    for (std::string line; std::getline(document, line);) {
        std::smatch found;
        if (std::regex_match(line, found, path_line)) {
            path = found[1];
        } else if (std::regex_match(line, found, method_line)) {
            std::string method = found[1];
            for (char& letter : method) {
                letter = static_cast<char>(letter - 'a' + 'A');
            }
            operations.push_back({method, path, {}});
        } else if (std::regex_match(line, found, roles_line)) {
            std::istringstream names{found[1]};
            for (std::string name; std::getline(names >> std::ws, name, ',');) {
                operations.back().roles.push_back(name);
            }
        }
    }
    return operations;
}

}  // namespace waybourne::server::test
