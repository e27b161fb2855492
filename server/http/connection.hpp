#pragma once
/// The bytes of one connection, under limits of size and time.

#include <chrono>
#include <cstddef>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "server/http/channel.hpp"

namespace waybourne::server {

/// Why reading ended before the request did.
enum class CutOff { none, closed, too_slow, too_large };

/// A socket that counts what one request may take in bytes and time as a whole. The HTTP library
/// itself starts its clock anew with every byte, so that one byte every few seconds would hold a
/// thread for ever. Does not own the socket. One thread.
class Connection {
public:
    using TimePoint = std::chrono::steady_clock::time_point;

    Connection(int socket, std::unique_ptr<Channel> channel)
        : socket_(socket), channel_(std::move(channel)) {}

    /// Waits for the first byte of the next request; false when none came in time, the other side
    /// closed, or `give_up` said so (asked every 50 ms).
    bool wait_for_request(std::chrono::milliseconds limit, const std::function<bool()>& give_up);
    /// Starts counting a request.
    void begin_request(std::size_t most_bytes, std::chrono::milliseconds receive_limit,
                       std::chrono::milliseconds send_limit);
    /// Sends what is still held back; false when the other side does not take it.
    bool flush();
    /// Ends what the channel began; the socket stays open.
    void finish() { channel_->finish(); }
    CutOff cut_off() const { return cut_off_; }

    /// Whether there is something to read before the request's time is up.
    bool is_readable() const;
    bool is_open() const { return cut_off_ != CutOff::closed; }
    int socket() const { return socket_; }
    /// At most `size` bytes; 0 when the other side has closed, -1 when a limit was reached.
    std::ptrdiff_t read(char* to, std::size_t size);
    /// False once the other side has closed; asks the socket.
    bool is_listening() const;
    /// Holds the bytes back until `flush`, until something is read, or until there are many.
    bool write(std::string_view bytes);

private:
    bool fill();

    int socket_;
    std::unique_ptr<Channel> channel_;
    std::string held_;  ///< received, not yet read
    std::size_t taken_ = 0;
    std::string pending_;  ///< written, not yet sent: header and body leave in one packet
    std::size_t bytes_left_ = 0;
    TimePoint receive_until_;
    std::chrono::milliseconds send_limit_{};
    CutOff cut_off_ = CutOff::none;
};

}  // namespace waybourne::server
