#pragma once
/// The log: one line per event on standard error, `key=value`, without anything personal.

#include <initializer_list>
#include <memory>
#include <string>
#include <string_view>
#include <utility>

namespace waybourne::server {

/// info: what an operator needs; warning: degraded; error: act.
enum class Level { info, warning, error };

/// Safe to use from several threads. Never give it a body, a query, a path as it was sent, a
/// coordinate, or what an exception said about a request.
class Log {
public:
    /// Writes to standard error.
    Log();
    /// Writes each line to `sink` instead; for tests.
    explicit Log(std::shared_ptr<std::string> sink);
    ~Log();
    Log(const Log&) = delete;
    Log& operator=(const Log&) = delete;

    using Values = std::initializer_list<std::pair<std::string_view, std::string>>;
    /// `name` is the event, e.g. `request`. A value with spaces, quotes or control characters is
    /// quoted and escaped, so that one event is always one line.
    void event(Level level, std::string_view name, Values values = {});

private:
    struct Writer;
    std::unique_ptr<Writer> writer_;
};

}  // namespace waybourne::server
