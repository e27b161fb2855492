#pragma once
/// The sample district served with a journal in a folder of its own, and a clock that is set by
/// hand.

#include <filesystem>
#include <memory>
#include <string>
#include <thread>

#include "server/application.hpp"
#include "server/http/server.hpp"
#include "server/json/value.hpp"
#include "server/referrals/desk.hpp"
#include "server/referrals/watch_deadlines.hpp"
#include "tests/server/guarded_sample.hpp"

namespace waybourne::server::test {

/// The woman of the first story of maps-sample/README.md, sent from the hill clinic.
std::string opening_body(const std::string& more = "");

class RecordedSample {
public:
    /// @param folder where the journal is; empty: a folder of its own that goes with it
    explicit RecordedSample(std::filesystem::path folder = {}, HttpSettings settings = {});
    ~RecordedSample();
    RecordedSample(const RecordedSample&) = delete;
    RecordedSample& operator=(const RecordedSample&) = delete;

    int port() const { return port_; }
    SettableClock& clock() { return clock_; }
    Records& records() { return *records_; }
    Desk& desk() { return *desk_; }
    DeadlineWatch& watch() { return *watch_; }
    Current<Snapshot>& snapshot() { return application_.snapshot; }
    Application& application() { return application_; }
    std::string log_text();

    Reply send(const std::string& method, const std::string& path, const std::string& body = "",
               const std::string& fields = "") const;
    /// Opens a referral and gives its code.
    std::string open(const std::string& more = "") const;
    /// Tells a step with the newest entity tag.
    Reply tell(const std::string& code, const std::string& body) const;
    JsonValue show(const std::string& code) const;

private:
    PrivateFolder own_folder_;
    SettableClock clock_;
    std::shared_ptr<std::string> log_text_ = std::make_shared<std::string>();
    Log log_{log_text_};
    Metrics metrics_;
    Workers workers_{2};
    Application application_;
    std::unique_ptr<Records> records_;
    std::unique_ptr<Desk> desk_;
    std::unique_ptr<DeadlineWatch> watch_;
    std::unique_ptr<HttpServer> server_;
    int port_ = 0;
    std::thread thread_;
};

/// The member of that name, or the member of a member: `plan.to`.
const JsonValue& at(const JsonValue& value, const std::string& path);
std::string text_at(const JsonValue& value, const std::string& path);
std::vector<std::string> texts_at(const JsonValue& value, const std::string& path);

}  // namespace waybourne::server::test
