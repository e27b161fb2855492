#include <doctest/doctest.h>
#include <openssl/ssl.h>
#include <sys/stat.h>

#include <array>
#include <cstdlib>
#include <fstream>

#include "tests/server/guarded_sample.hpp"
#include "vocabulary/error.hpp"

// TLS with certificates of the district's own authority, made as docs/howto/certificates.md shows.
// Versions and ciphers: RFC 9325 (BCP 195).

namespace waybourne::server::test {

namespace {

/// The commands of the how-to, run in a folder of their own.
class Authority {
public:
    Authority() {
        std::ifstream page{std::string{WAYBOURNE_SOURCE_DIR} + "/docs/howto/certificates.md"};
        const std::string text{std::istreambuf_iterator<char>{page}, {}};
        const std::string mark = "```sh\n";
        const std::size_t from = text.find(mark, text.find("## Make them")) + mark.size();
        std::ofstream{folder_.path() / "make.sh"}
            << "set -e\nname=localhost address=127.0.0.1\n"
            << text.substr(from, text.find("```", from) - from);
        const std::string command = "cd " + folder_.path().string() + " && sh make.sh >made 2>&1";
        is_made_ = std::system(command.c_str()) == 0;
    }
    bool is_made() const { return is_made_; }
    std::string file(const char* name) const { return (folder_.path() / name).string(); }

private:
    PrivateFolder folder_;
    bool is_made_ = false;
};

struct TlsTry {
    bool is_trusted = false;
    std::string version;
    Reply reply;
};

/// A client that trusts only `authority` and speaks at most `newest`.
TlsTry get_over_tls(int port, const std::string& authority, int newest = TLS1_3_VERSION) {
    const std::unique_ptr<SSL_CTX, void (*)(SSL_CTX*)> context{SSL_CTX_new(TLS_client_method()),
                                                               SSL_CTX_free};
    SSL_CTX_set_security_level(context.get(), 0);  // an old phone would still offer old versions
    SSL_CTX_set_min_proto_version(context.get(), TLS1_VERSION);
    SSL_CTX_set_max_proto_version(context.get(), newest);
    SSL_CTX_load_verify_locations(context.get(), authority.c_str(), nullptr);
    SSL_CTX_set_verify(context.get(), SSL_VERIFY_PEER, nullptr);
    const RawClient socket{port};
    const std::unique_ptr<SSL, void (*)(SSL*)> ssl{SSL_new(context.get()), SSL_free};
    SSL_set_fd(ssl.get(), socket.socket());
    SSL_set1_host(ssl.get(), "localhost");
    TlsTry tried;
    if (SSL_connect(ssl.get()) != 1) {
        return tried;
    }
    tried.is_trusted = true;
    tried.version = SSL_get_version(ssl.get());
    const std::string request =
        "GET /livez HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n";
    SSL_write(ssl.get(), request.data(), static_cast<int>(request.size()));
    std::string all;
    std::array<char, 4096> block{};
    for (int count = 1; count > 0;) {
        count = SSL_read(ssl.get(), block.data(), static_cast<int>(block.size()));
        all.append(block.data(), count > 0 ? static_cast<std::size_t>(count) : 0);
    }
    tried.reply = parse_reply(all);
    return tried;
}

HttpSettings with_tls(const Authority& authority) {
    HttpSettings settings;
    settings.receive_limit = std::chrono::milliseconds{500};
    settings.tls = std::make_shared<const TlsIdentity>(authority.file("server.pem"),
                                                       authority.file("server.key"));
    return settings;
}

}  // namespace

TEST_CASE("A phone that trusts the district's authority is served over TLS, and no other") {
    const Authority ours;
    REQUIRE(ours.is_made());
    const Authority foreign;
    const GuardedSample sample{quick_settings(), with_tls(ours)};
    const TlsTry good = get_over_tls(sample.port(), ours.file("district-authority.pem"));
    CHECK(good.is_trusted);
    CHECK(good.version == "TLSv1.3");
    CHECK(good.reply.status == 200);
    CHECK(good.reply.field("Strict-Transport-Security") == "max-age=31536000");
    CHECK_FALSE(get_over_tls(sample.port(), foreign.file("district-authority.pem")).is_trusted);
    // Older phones speak 1.2; 1.1 and older must not be used (RFC 8996).
    const std::string authority = ours.file("district-authority.pem");
    CHECK(get_over_tls(sample.port(), authority, TLS1_2_VERSION).reply.status == 200);
    CHECK_FALSE(get_over_tls(sample.port(), authority, TLS1_1_VERSION).is_trusted);
    CHECK_FALSE(get_over_tls(sample.port(), authority, TLS1_VERSION).is_trusted);
}

TEST_CASE(
    "Who speaks no TLS, or stops in the middle of a handshake, is cut off, and others go on") {
    const Authority ours;
    REQUIRE(ours.is_made());
    HttpSettings settings = with_tls(ours);
    settings.connections = 2;
    const GuardedSample sample{quick_settings(), settings};
    CHECK(get(sample.port(), "/livez").status == 0);
    std::vector<std::unique_ptr<RawClient>> stuck;
    for (int i = 0; i < 4; ++i) {
        stuck.push_back(std::make_unique<RawClient>(sample.port()));
        stuck.back()->send("\x16\x03\x01");  // the first bytes of a handshake, and no more
    }
    const TlsTry good = get_over_tls(sample.port(), ours.file("district-authority.pem"));
    CHECK(good.reply.status == 200);
}

TEST_CASE(
    "A TLS key that everybody on the machine may read, or of another certificate, is refused") {
    const Authority ours;
    REQUIRE(ours.is_made());
    const Authority foreign;
    const std::string certificate = ours.file("server.pem");
    CHECK_THROWS_AS((TlsIdentity{certificate, foreign.file("server.key")}), InputError);
    CHECK_THROWS_AS((TlsIdentity{certificate, "nothing-here.key"}), InputError);
    CHECK_THROWS_AS((TlsIdentity{"nothing-here.pem", ours.file("server.key")}), InputError);
    ::chmod(ours.file("server.key").c_str(), 0644);
    CHECK_THROWS_AS((TlsIdentity{certificate, ours.file("server.key")}), InputError);
}

}  // namespace waybourne::server::test
