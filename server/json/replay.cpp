#include "server/json/replay.hpp"

#include "server/json/writer.hpp"

namespace waybourne::server {

namespace {

std::string_view verdict_of(const Replayed& replayed) {
    if (!replayed.failure.empty()) {
        return "impossible";
    }
    return replayed.is_identical() ? "identical" : "different";
}

std::optional<std::string> or_none(const std::string& text) {
    return text.empty() ? std::nullopt : std::optional(text);
}

void write_difference(JsonWriter& json, const Difference& difference, bool shows_findings) {
    const bool is_told = shows_findings || !difference.pointer.starts_with("/answer/assessment");
    json.begin_object().member("pointer", difference.pointer);
    if (is_told && !difference.then.empty()) {
        json.key("then").raw(difference.then);
    }
    if (is_told && !difference.now.empty()) {
        json.key("now").raw(difference.now);
    }
    json.end_object();
}

void write_replayed(JsonWriter& json, const Replayed& replayed, bool shows_findings) {
    json.begin_object().member("entry", std::int64_t{replayed.sequence});
    json.member("step", replayed.step).member("at", replayed.at);
    json.member("verdict", verdict_of(replayed));
    json.member("program_changed_its_mind", replayed.program_changed_its_mind());
    json.member("keeps_the_answer", replayed.keeps_the_answer);
    json.member("failure", or_none(replayed.failure)).key("changed").begin_list();
    for (const ChangedSource& source : replayed.changed) {
        json.begin_object().member("what", source.what).member("then", or_none(source.then));
        json.member("now", or_none(source.now)).end_object();
    }
    json.end_list().key("differences").begin_list();
    for (const Difference& difference : replayed.differences) {
        write_difference(json, difference, shows_findings);
    }
    json.end_list().member("more_differences", replayed.more_differences).end_object();
}

std::string verdict_line(const Replayed& replayed, const Words& words) {
    if (!replayed.failure.empty()) {
        return words.text({"server.replay.impossible", {{"why", replayed.failure}}});
    }
    if (replayed.is_identical()) {
        return words.text({"server.replay.identical", {}});
    }
    const auto count = std::to_string(replayed.differences.size() + replayed.more_differences);
    return words.text({replayed.program_changed_its_mind() ? "server.replay.changed_its_mind"
                                                           : "server.replay.different",
                       {{"count", count}}});
}

}  // namespace

std::string render_replays(const std::string& code, const std::vector<Replayed>& replays,
                           bool shows_findings) {
    JsonWriter json;
    json.begin_object().member("code", code).key("replays").begin_list();
    for (const Replayed& replayed : replays) {
        write_replayed(json, replayed, shows_findings);
    }
    return json.end_list().end_object().take();
}

std::string describe_replays(const std::vector<Replayed>& replays, const Words& words) {
    const std::string nothing = words.text({"server.replay.nothing", {}});
    const auto or_nothing = [&](const std::string& text) { return text.empty() ? nothing : text; };
    std::string all;
    for (const Replayed& replayed : replays) {
        all += words.text({"server.replay.entry",
                           {{"entry", std::to_string(replayed.sequence)},
                            {"step", replayed.step},
                            {"at", to_rfc3339(replayed.at)}}}) +
               " " + verdict_line(replayed, words) + "\n";
        if (!replayed.keeps_the_answer) {
            all += "  " + words.text({"server.replay.plan_only", {}}) + "\n";
        }
        for (const ChangedSource& source : replayed.changed) {
            all +=
                "  " +
                words.text({"server.replay.changed." + source.what,
                            {{"then", or_nothing(source.then)}, {"now", or_nothing(source.now)}}}) +
                "\n";
        }
        for (const Difference& difference : replayed.differences) {
            all += "  " +
                   words.text({"server.replay.difference",
                               {{"pointer", difference.pointer},
                                {"then", or_nothing(difference.then)},
                                {"now", or_nothing(difference.now)}}}) +
                   "\n";
        }
        if (replayed.more_differences > 0) {
            all += "  " +
                   words.text({"server.replay.more",
                               {{"count", std::to_string(replayed.more_differences)}}}) +
                   "\n";
        }
    }
    return all;
}

}  // namespace waybourne::server
