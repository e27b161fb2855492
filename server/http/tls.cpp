#include <fcntl.h>
#include <openssl/err.h>
#include <openssl/ssl.h>
#include <poll.h>
#include <sys/socket.h>
#include <sys/stat.h>

#include <cerrno>
#include <ctime>

#include "server/http/channel.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

class PlainChannel final : public Channel {
public:
    explicit PlainChannel(int socket) : socket_(socket) {}

    Moved receive(char* to, std::size_t size) override {
        awaited_ = POLLIN;
        return moved(::recv(socket_, to, size, MSG_DONTWAIT));
    }
    Moved send(std::string_view bytes) override {
        awaited_ = POLLOUT;
        return moved(::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL | MSG_DONTWAIT));
    }
    short awaited() const override { return awaited_; }

private:
    static Moved moved(ssize_t count) {
        if (count > 0) {
            return {Outcome::done, static_cast<std::size_t>(count)};
        }
        const bool may_come =
            count < 0 && (errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR);
        return {may_come ? Outcome::must_wait : Outcome::closed, 0};
    }

    int socket_;
    short awaited_ = POLLIN;
};

class TlsChannel final : public Channel {
public:
    TlsChannel(SSL_CTX* context, int socket) : ssl_(SSL_new(context)) {
        ::fcntl(socket, F_SETFL, ::fcntl(socket, F_GETFL) | O_NONBLOCK);
        if (ssl_ == nullptr || SSL_set_fd(ssl_, socket) != 1) {
            SSL_free(ssl_);
            throw Unavailable("no memory for a connection");
        }
        SSL_set_accept_state(ssl_);
    }
    ~TlsChannel() override { SSL_free(ssl_); }

    Moved receive(char* to, std::size_t size) override {
        ERR_clear_error();
        std::size_t count = 0;
        const int result = SSL_read_ex(ssl_, to, size, &count);
        return moved(result, count);
    }
    Moved send(std::string_view bytes) override {
        ERR_clear_error();
        std::size_t count = 0;
        const int result = SSL_write_ex(ssl_, bytes.data(), bytes.size(), &count);
        return moved(result, count);
    }
    short awaited() const override { return awaited_; }
    bool holds_bytes() const override { return SSL_pending(ssl_) > 0; }
    void finish() override {
        if (!is_broken_ && SSL_is_init_finished(ssl_) == 1) {
            SSL_shutdown(ssl_);
        }
    }

private:
    Moved moved(int result, std::size_t count) {
        if (result == 1) {
            return {Outcome::done, count};
        }
        const int reason = SSL_get_error(ssl_, result);
        if (reason == SSL_ERROR_WANT_READ || reason == SSL_ERROR_WANT_WRITE) {
            awaited_ = reason == SSL_ERROR_WANT_READ ? POLLIN : POLLOUT;
            return {Outcome::must_wait, 0};
        }
        is_broken_ = reason != SSL_ERROR_ZERO_RETURN;  // after these no goodbye may follow
        return {Outcome::closed, 0};
    }

    SSL* ssl_;
    short awaited_ = POLLIN;
    bool is_broken_ = false;
};

void set_up(SSL_CTX* context) {
    SSL_CTX_set_min_proto_version(context, TLS1_2_VERSION);
    SSL_CTX_set_cipher_list(context, "ECDHE+AESGCM:ECDHE+CHACHA20");
    // Phones without AES in hardware may choose ChaCha20.
    SSL_CTX_set_options(context, SSL_OP_NO_RENEGOTIATION | SSL_OP_NO_COMPRESSION |
                                     SSL_OP_CIPHER_SERVER_PREFERENCE | SSL_OP_PRIORITIZE_CHACHA);
    SSL_CTX_set_mode(context, SSL_MODE_ENABLE_PARTIAL_WRITE | SSL_MODE_ACCEPT_MOVING_WRITE_BUFFER |
                                  SSL_MODE_RELEASE_BUFFERS);
    // Nobody sits at a server to type a passphrase.
    SSL_CTX_set_default_passwd_cb(
        context, [](char* /*to*/, int /*size*/, int /*purpose*/, void* /*ours*/) { return 0; });
}

void check_private(const std::filesystem::path& key) {
    struct stat about {};
    if (::stat(key.c_str(), &about) != 0) {
        throw InputError(key.string() + ": the TLS key cannot be read");
    }
    if ((about.st_mode & 07U) != 0) {
        throw InputError(key.string() +
                         ": everybody on this machine may read or change the TLS key; chmod 600");
    }
}

}  // namespace

std::unique_ptr<Channel> plain_channel(int socket) {
    return std::make_unique<PlainChannel>(socket);
}

struct TlsIdentity::Context {
    SSL_CTX* context = SSL_CTX_new(TLS_server_method());
    Context() = default;
    ~Context() { SSL_CTX_free(context); }
    Context(const Context&) = delete;
    Context& operator=(const Context&) = delete;
};

TlsIdentity::TlsIdentity(const std::filesystem::path& certificate, const std::filesystem::path& key)
    : context_(std::make_unique<Context>()) {
    SSL_CTX* context = context_->context;
    if (context == nullptr) {
        throw Unavailable("no memory for TLS");
    }
    set_up(context);
    check_private(key);
    ERR_clear_error();
    if (SSL_CTX_use_certificate_chain_file(context, certificate.c_str()) != 1) {
        throw InputError(certificate.string() +
                         ": no certificate in PEM form can be read from there");
    }
    if (SSL_CTX_use_PrivateKey_file(context, key.c_str(), SSL_FILETYPE_PEM) != 1 ||
        SSL_CTX_check_private_key(context) != 1) {
        ERR_clear_error();
        throw InputError(key.string() +
                         ": no key in PEM form without a passphrase that belongs to " +
                         certificate.string());
    }
}

TlsIdentity::~TlsIdentity() = default;

std::unique_ptr<Channel> TlsIdentity::channel(int socket) const {
    return std::make_unique<TlsChannel>(context_->context, socket);
}

Instant TlsIdentity::valid_until() const {
    std::tm when{};
    ASN1_TIME_to_tm(X509_get0_notAfter(SSL_CTX_get0_certificate(context_->context)), &when);
    return std::chrono::time_point_cast<Seconds>(
        std::chrono::system_clock::from_time_t(::timegm(&when)));
}

}  // namespace waybourne::server
