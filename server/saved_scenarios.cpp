#include "server/saved_scenarios.hpp"

#include <map>

#include "server/json/writer.hpp"
#include "server/plain_id.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

constexpr const char* saved_kind = "scenario.saved";
constexpr const char* listed_kind = "scenario.listed";
constexpr const char* list_subject = "scenarios";
constexpr std::size_t longest_name = 80;
/// Far beyond what one district plans (ours, no source).
constexpr std::size_t most_scenarios = 500;
constexpr std::size_t read_at_once = 500;

std::string subject_of_scenario(const std::string& name) {
    return "scenario/" + name;
}

/// The newest entry of each name. A name is what follows the slash of the entry stored with it.
std::map<std::string, journal::Envelope> newest(const journal::Journal& journal) {
    std::map<std::string, journal::Envelope> all;
    journal::Sequence after = 0;
    while (true) {
        const auto some = journal.read_subject(list_subject, after, read_at_once);
        for (const journal::Envelope& envelope : some) {
            if (envelope.body) {
                const JsonValue body = parse_json(*envelope.body);
                if (const JsonValue* const name = body.find("name")) {
                    all.insert_or_assign(name->text(), envelope);
                }
            }
            after = envelope.sequence;
        }
        if (some.size() < read_at_once) {
            return all;
        }
    }
}

}  // namespace

void save_scenario(Records& records, const SavedScenario& scenario) {
    if (!is_plain_id(scenario.name) || scenario.name.size() > longest_name) {
        throw InputError("a scenario's name is made of letters, digits and -_.: only, at most 80");
    }
    const auto known = newest(records.journal());
    if (!known.contains(scenario.name) && known.size() >= most_scenarios) {
        throw Conflict("there are 500 scenarios already; save it under a name that is there");
    }
    JsonWriter body;
    body.begin_object().member("name", scenario.name).member("saved_at", scenario.at);
    body.member("saved_by", scenario.who);
    body.key("request").raw(scenario.request).key("answer").raw(scenario.answer).end_object();
    JsonWriter listed;
    listed.begin_object().member("name", scenario.name).end_object();
    journal::Append append;
    append.at = scenario.at;
    append.who = scenario.who;
    append.entries = {{saved_kind, subject_of_scenario(scenario.name), body.take()},
                      {listed_kind, list_subject, listed.take()}};
    records.append(append);
}

std::string saved_scenario_json(const journal::Journal& journal, const std::string& name) {
    const std::string subject = subject_of_scenario(name);
    const journal::Sequence last = journal.version(subject);
    const auto found =
        last == 0 ? std::vector<journal::Envelope>{} : journal.read_subject(subject, last - 1, 1);
    if (found.empty() || !found.front().body) {
        throw NotFound("no scenario has that name");
    }
    return *found.front().body;
}

std::string saved_scenarios_json(const journal::Journal& journal) {
    JsonWriter json;
    json.begin_object().key("scenarios").begin_list();
    for (const auto& [name, envelope] : newest(journal)) {
        json.begin_object().member("name", name).member("saved_at", envelope.at);
        json.member("saved_by", envelope.who).end_object();
    }
    return json.end_list().end_object().take();
}

}  // namespace waybourne::server
