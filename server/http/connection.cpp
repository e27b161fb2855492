#include "server/http/connection.hpp"

#include <poll.h>
#include <sys/socket.h>

#include <algorithm>
#include <array>
#include <cerrno>

namespace waybourne::server {

namespace {

using std::chrono::milliseconds;
using std::chrono::steady_clock;

/// Whether the socket becomes ready before `until`.
bool wait_for(int socket, short event, Connection::TimePoint until) {
    for (;;) {
        const auto left = std::chrono::ceil<milliseconds>(until - steady_clock::now());
        if (left.count() <= 0) {
            return false;
        }
        pollfd one{socket, event, 0};
        const int ready = poll(&one, 1, static_cast<int>(left.count()));
        if (ready > 0) {
            return true;
        }
        if (ready == 0 || errno != EINTR) {
            return false;
        }
    }
}

}  // namespace

bool Connection::wait_for_request(milliseconds limit, const std::function<bool()>& give_up) {
    constexpr milliseconds slice{50};
    const auto until = steady_clock::now() + limit;
    while (taken_ == held_.size() && !channel_->holds_bytes()) {
        if (give_up() || steady_clock::now() >= until) {
            return false;
        }
        if (wait_for(socket_, POLLIN, std::min(until, steady_clock::now() + slice))) {
            char first = 0;
            return recv(socket_, &first, 1, MSG_PEEK) == 1;
        }
    }
    return true;
}

void Connection::begin_request(std::size_t most_bytes, milliseconds receive_limit,
                               milliseconds send_limit) {
    bytes_left_ = most_bytes;
    receive_until_ = steady_clock::now() + receive_limit;
    send_limit_ = send_limit;
}

bool Connection::fill() {
    if (!flush()) {
        return false;
    }
    std::array<char, 4096> block{};
    for (;;) {
        const auto moved = channel_->receive(block.data(), block.size());
        if (moved.outcome == Channel::Outcome::done) {
            held_.assign(block.data(), moved.bytes);
            taken_ = 0;
            return true;
        }
        if (moved.outcome == Channel::Outcome::closed) {
            cut_off_ = CutOff::closed;
            return false;
        }
        if (!wait_for(socket_, channel_->awaited(), receive_until_)) {
            cut_off_ = CutOff::too_slow;
            return false;
        }
    }
}

bool Connection::is_readable() const {
    return taken_ < held_.size() || channel_->holds_bytes() ||
           wait_for(socket_, POLLIN, receive_until_);
}

std::ptrdiff_t Connection::read(char* to, std::size_t size) {
    if (cut_off_ != CutOff::none || (taken_ == held_.size() && !fill())) {
        return cut_off_ == CutOff::closed ? 0 : -1;
    }
    if (bytes_left_ == 0) {
        cut_off_ = CutOff::too_large;
        return -1;
    }
    const std::size_t count = std::min({size, held_.size() - taken_, bytes_left_});
    held_.copy(to, count, taken_);
    taken_ += count;
    bytes_left_ -= count;
    return static_cast<std::ptrdiff_t>(count);
}

bool Connection::is_listening() const {
    char next = 0;
    const ssize_t count = recv(socket_, &next, 1, MSG_PEEK | MSG_DONTWAIT);
    return cut_off_ == CutOff::none && (count > 0 || (count < 0 && errno != ECONNRESET));
}

bool Connection::write(std::string_view bytes) {
    constexpr std::size_t hold_back = 256UL * 1024;
    pending_.append(bytes);
    return pending_.size() <= hold_back || flush();
}

bool Connection::flush() {
    const auto until = steady_clock::now() + send_limit_;
    for (std::size_t sent = 0; sent < pending_.size();) {
        const auto moved = channel_->send(std::string_view{pending_}.substr(sent));
        if (moved.outcome == Channel::Outcome::done) {
            sent += moved.bytes;
        } else if (moved.outcome == Channel::Outcome::closed ||
                   !wait_for(socket_, channel_->awaited(), until)) {
            cut_off_ = CutOff::closed;
            pending_.clear();
            return false;
        }
    }
    pending_.clear();
    return true;
}

}  // namespace waybourne::server
