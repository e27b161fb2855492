#include "server/security/guard.hpp"

#include <netinet/in.h>
#include <sys/socket.h>

#include <cstring>

#include "server/problem.hpp"

namespace waybourne::server {

namespace {

using std::chrono::steady_clock;

[[noreturn]] void refuse_unknown(const char* detail) {
    Problem problem = http_refusal(401, detail);
    problem.headers.emplace_back("WWW-Authenticate", "Bearer realm=\"waybourne\"");
    throw HttpRefusal(problem);
}

[[noreturn]] void refuse_for(int status, std::chrono::seconds wait, const char* detail) {
    Problem problem = http_refusal(status, detail);
    problem.headers.emplace_back("Retry-After", std::to_string(wait.count()));
    throw HttpRefusal(problem);
}

void take_or_refuse(RateLimiter& limiter, const std::string& name, const char* detail) {
    const auto wait = limiter.take(name, steady_clock::now());
    if (wait.count() > 0) {
        refuse_for(429, wait, detail);
    }
}

/// What a route open to anybody takes its caller for: somebody who is shown no person.
Caller nobody() {
    Caller caller;
    caller.who = "nobody";
    caller.role = Role::planner;
    return caller;
}

constexpr const char* too_many_from_address = "too many requests without a token from there";
constexpr const char* wrong_key = "this key or refresh secret is not valid here";

}  // namespace

Guard::Guard(const std::filesystem::path& keys_file, const Clock& clock, Log& log,
             const GuardSettings& settings)
    : settings_(settings),
      clock_(clock),
      ring_(keys_file, settings.cost, log, settings.look_at_keys_every),
      sessions_(keys_file.string() + ".sessions", clock.now(), settings.sessions),
      ordinary_(settings.ordinary),
      urgent_(settings.urgent),
      squares_(settings.squares),
      anonymous_(settings.anonymous),
      files_(settings.files),
      gateway_(settings.gateway),
      failures_(settings.failures),
      under_way_(settings.concurrent),
      hashing_of_address_(settings.hashing_of_one_address),
      hashing_(settings.hashing, settings.hashing_queue, settings.hashing_patience),
      nobodys_hash_(hash_secret(random_secret(), settings.cost)) {}

const Key* Guard::key_of_token(const Keys& keys, std::string_view authorization) const {
    const auto id = sessions_.key_of_token(credentials(authorization, "bearer"), clock_.now());
    return id ? keys.find(*id) : nullptr;
}

Admission Guard::admit(const Visit& visit) {
    const Access* access = find_access(visit.method, visit.pattern);
    if (access != nullptr && access->audience.is_anyone()) {
        if (access->pace == Pace::gateway &&
            settings_.gateway_secret.is_shown_in(visit.authorization)) {
            take_or_refuse(gateway_, "gateway", "the gateway brings too many at once");
        } else {
            take_or_refuse(access->pace == Pace::file ? files_ : anonymous_, visit.address,
                           too_many_from_address);
        }
        return {nobody(), access, {}, nullptr};
    }
    const auto keys = ring_.keys();
    const Key* key = key_of_token(*keys, visit.authorization);
    if (key == nullptr) {
        take_or_refuse(anonymous_, visit.address, too_many_from_address);
        refuse_unknown("a valid token is needed; POST /v1/tokens gives one for a key");
    }
    const Pace pace = access == nullptr ? Pace::ordinary : access->pace;
    take_or_refuse(pace == Pace::urgent   ? urgent_
                   : pace == Pace::square ? squares_
                                          : ordinary_,
                   key->id, "too many requests with this key");
    if (access == nullptr || !access->audience.has(key->caller.role)) {
        throw HttpRefusal(http_refusal(403, "the role of this key may not do that"));
    }
    auto place = under_way_.enter(key->id);
    if (place == nullptr) {
        refuse_for(429, std::chrono::seconds{1}, "too many requests with this key at once");
    }
    return {key->caller, access, key->id, std::move(place)};
}

bool Guard::is_in_force(const Admission& admission) {
    const auto keys = ring_.keys();
    const Key* key = keys->find(admission.key_id);
    return admission.key_id.empty() || (key != nullptr && key->caller == admission.caller);
}

Key Guard::check_key(std::string_view text, const std::string& address) {
    const auto wait = failures_.wait_for(address, steady_clock::now());
    if (wait.count() > 0) {
        refuse_for(429, wait, "too many wrong keys from there");
    }
    const auto turn = hashing_of_address_.enter(address);
    if (turn == nullptr) {
        refuse_for(429, std::chrono::seconds{1}, "other keys from there are being checked");
    }
    const auto seat = hashing_.sit();
    if (seat == nullptr) {
        refuse_for(503, std::chrono::seconds{2}, "too many keys are being checked");
    }
    const auto given = parse_key_text(text);
    const auto keys = ring_.keys();
    const Key* key = given ? keys->find(given->id) : nullptr;
    const bool is_right = is_secret(key == nullptr ? nobodys_hash_ : key->hash,
                                    given ? std::string_view{given->secret} : text);
    if (key == nullptr || !is_right) {
        failures_.take(address, steady_clock::now());
        refuse_unknown(wrong_key);
    }
    return *key;
}

Exchanged Guard::exchange(std::string_view authorization, const std::string& address) {
    const std::string_view key_text = credentials(authorization, "waybourne-key");
    if (!key_text.empty()) {
        const Key key = check_key(key_text, address);
        return {sessions_.open(key.id, clock_.now()), key.caller};
    }
    const std::string_view refresh = credentials(authorization, "waybourne-refresh");
    const auto id = sessions_.key_of_refresh(refresh, clock_.now());
    const auto keys = ring_.keys();
    const Key* key = id ? keys->find(*id) : nullptr;
    if (key == nullptr) {
        refuse_unknown(wrong_key);
    }
    take_or_refuse(ordinary_, key->id, "too many requests with this key");
    const auto session = sessions_.renew(refresh, clock_.now());
    if (!session) {
        refuse_unknown(wrong_key);
    }
    return {*session, key->caller};
}

std::string network_of(int socket) {
    sockaddr_storage peer{};
    socklen_t size = sizeof peer;
    if (::getpeername(socket, reinterpret_cast<sockaddr*>(&peer), &size) != 0) {
        return "unknown";
    }
    if (peer.ss_family == AF_INET6) {
        sockaddr_in6 six{};
        std::memcpy(&six, &peer, sizeof six);
        constexpr std::size_t mapped_prefix = 12;
        const char* bytes = reinterpret_cast<const char*>(&six.sin6_addr);
        if (IN6_IS_ADDR_V4MAPPED(&six.sin6_addr)) {
            return "4" + std::string(bytes + mapped_prefix, 4);
        }
        return "6" + std::string(bytes, 8);
    }
    sockaddr_in four{};
    std::memcpy(&four, &peer, sizeof four);
    return "4" + std::string(reinterpret_cast<const char*>(&four.sin_addr), 4);
}

}  // namespace waybourne::server
