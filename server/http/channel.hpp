#pragma once
/// How bytes go over a socket: as they are, or through TLS.

#include <cstddef>
#include <filesystem>
#include <memory>
#include <string_view>

#include "vocabulary/time.hpp"

namespace waybourne::server {

/// One direction after the other, never waiting. One thread. Does not own the socket.
class Channel {
public:
    enum class Outcome { done, must_wait, closed };
    struct Moved {
        Outcome outcome = Outcome::closed;
        std::size_t bytes = 0;
    };

    Channel() = default;
    virtual ~Channel() = default;
    Channel(const Channel&) = delete;
    Channel& operator=(const Channel&) = delete;

    virtual Moved receive(char* to, std::size_t size) = 0;
    virtual Moved send(std::string_view bytes) = 0;
    /// What `poll` has to wait for after `must_wait`.
    virtual short awaited() const = 0;
    /// Whether something was received that the socket no longer shows.
    virtual bool holds_bytes() const { return false; }
    /// Says goodbye where the protocol has a word for it.
    virtual void finish() {}
};

std::unique_ptr<Channel> plain_channel(int socket);

/// A certificate with its chain and key. TLS 1.3 and 1.2 only, 1.2 with forward secrecy and
/// authenticated encryption only (RFC 9325, section 4.2). Immutable, share it between threads.
class TlsIdentity {
public:
    /// @throws InputError when a file cannot be read, is no PEM, does not belong to the other, is
    ///         locked by a passphrase, or the key may be read by everybody on this machine
    TlsIdentity(const std::filesystem::path& certificate, const std::filesystem::path& key);
    ~TlsIdentity();
    TlsIdentity(const TlsIdentity&) = delete;
    TlsIdentity& operator=(const TlsIdentity&) = delete;

    /// The server's side of one connection; the handshake comes with the first bytes.
    std::unique_ptr<Channel> channel(int socket) const;
    /// When the certificate runs out.
    Instant valid_until() const;

private:
    struct Context;
    std::unique_ptr<Context> context_;
};

}  // namespace waybourne::server
