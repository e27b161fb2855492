#include "server/log.hpp"

#include <spdlog/logger.h>
#include <spdlog/pattern_formatter.h>
#include <spdlog/sinks/base_sink.h>
#include <spdlog/sinks/stdout_sinks.h>

#include <algorithm>
#include <mutex>

namespace waybourne::server {

namespace {

std::string to_value(const std::string& text) {
    const bool is_plain =
        !text.empty() && std::all_of(text.begin(), text.end(), [](unsigned char letter) {
            return letter > ' ' && letter != '"' && letter != '=' && letter != 0x7F;
        });
    if (is_plain) {
        return text;
    }
    std::string quoted = "\"";
    for (const char letter : text) {
        const auto byte = static_cast<unsigned char>(letter);
        if (letter == '"' || letter == '\\') {
            quoted += '\\';
            quoted += letter;
        } else if (byte < ' ' || byte == 0x7F) {
            quoted += ' ';
        } else {
            quoted += letter;
        }
    }
    return quoted + '"';
}

spdlog::level::level_enum to_spdlog(Level level) {
    switch (level) {
        case Level::info:
            return spdlog::level::info;
        case Level::warning:
            return spdlog::level::warn;
        case Level::error:
            break;
    }
    return spdlog::level::err;
}

/// Appends each line to a text, under the sink's lock.
class TextSink final : public spdlog::sinks::base_sink<std::mutex> {
public:
    explicit TextSink(std::shared_ptr<std::string> text) : text_(std::move(text)) {}

private:
    void sink_it_(const spdlog::details::log_msg& message) override {
        text_->append(message.payload.begin(), message.payload.end());
        *text_ += '\n';
    }
    void flush_() override {}

    std::shared_ptr<std::string> text_;
};

}  // namespace

struct Log::Writer {
    spdlog::logger logger;
};

Log::Log()
    : writer_(new Writer{
          spdlog::logger("waybourne", std::make_shared<spdlog::sinks::stderr_sink_mt>())}) {
    writer_->logger.set_formatter(std::make_unique<spdlog::pattern_formatter>(
        "time=%Y-%m-%dT%H:%M:%S.%eZ level=%l %v", spdlog::pattern_time_type::utc));
    writer_->logger.flush_on(spdlog::level::info);
}

Log::Log(std::shared_ptr<std::string> sink)
    : writer_(
          new Writer{spdlog::logger("waybourne", std::make_shared<TextSink>(std::move(sink)))}) {}

Log::~Log() = default;

void Log::event(Level level, std::string_view name, Values values) {
    std::string line = "event=" + std::string(name);
    for (const auto& [key, value] : values) {
        line += ' ';
        line += key;
        line += '=';
        line += to_value(value);
    }
    writer_->logger.log(to_spdlog(level), "{}", line);
}

}  // namespace waybourne::server
