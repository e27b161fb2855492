#pragma once
/// The sample district served with keys, and callers who hold one each.

#include <atomic>
#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <thread>

#include "server/application.hpp"
#include "server/http/server.hpp"
#include "server/pack/pack_shelf.hpp"
#include "server/security/guard.hpp"
#include "tests/server/served_sample.hpp"

namespace waybourne::server::test {

/// Argon2id as cheap as libsodium allows: a test hashes hundreds of keys. Only ever injected.
inline constexpr HashCost quick_cost{1, 8192};

/// Stands still until it is told otherwise.
class SettableClock final : public Clock {
public:
    Instant now() const override { return Instant{Seconds{seconds_.load()}}; }
    void pass(Seconds span) { seconds_ += span.count(); }

private:
    std::atomic<Seconds::rep> seconds_{parse_rfc3339(sample_now).time_since_epoch().count()};
};

/// A folder of its own that goes with it.
class PrivateFolder {
public:
    /// @param in where; by default the system's place for what is temporary
    explicit PrivateFolder(
        const std::filesystem::path& in = std::filesystem::temp_directory_path());
    ~PrivateFolder();
    PrivateFolder(const PrivateFolder&) = delete;
    PrivateFolder& operator=(const PrivateFolder&) = delete;
    const std::filesystem::path& path() const { return path_; }

private:
    std::filesystem::path path_;
};

/// Settings under which only what a test is about is limited.
GuardSettings quick_settings();

/// What a client sends.
struct Ask {
    std::string method = "GET";
    std::string path;
    std::string authorization = {};
    std::string body = {};
    std::string from = "127.0.0.1";  ///< our own address: any of 127.0.0.0/8
};

class GuardedSample {
public:
    /// One account per role, named as the role; health worker and facility for `kezhiru-clinic`.
    explicit GuardedSample(const GuardSettings& settings = quick_settings(),
                           HttpSettings http = {});
    ~GuardedSample();
    GuardedSample(const GuardedSample&) = delete;
    GuardedSample& operator=(const GuardedSample&) = delete;

    int port() const { return port_; }
    const std::filesystem::path& keys_file() const { return keys_file_; }
    SettableClock& clock() { return clock_; }
    const std::string& key(Role role) const { return keys_.at(role); }
    std::string token(Role role);
    Reply send(const Ask& ask) const;
    /// `POST /v1/tokens`
    Reply exchange(const std::string& authorization, const std::string& from = "127.0.0.1") const;
    void remove_key(Role role);
    std::string stop();

private:
    std::filesystem::path with_keys(HashCost cost);

    SettableClock clock_;
    PrivateFolder folder_;
    std::map<Role, std::string> keys_;
    std::filesystem::path keys_file_;
    std::shared_ptr<std::string> log_text_ = std::make_shared<std::string>();
    Log log_{log_text_};
    Metrics metrics_;
    Workers workers_{2};
    Guard guard_;
    PackShelf packs_{PackKey{}};
    Application application_;
    HttpServer server_;
    int port_;
    std::thread thread_;
};

/// The text member of that name in a JSON object; empty when there is none.
std::string text_member(const std::string& json, const std::string& name);

/// One operation of docs/openapi.yaml and who may call it, from the lines of the document.
struct Described {
    std::string method;
    std::string pattern;
    std::vector<std::string> roles;  ///< as `x-roles` lists them
};
std::vector<Described> described_operations();

}  // namespace waybourne::server::test
