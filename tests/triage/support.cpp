#include "tests/triage/support.hpp"

#include <algorithm>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include "triage/protocol_file.hpp"

namespace waybourne::triage {

std::string read_source_file(const std::string& path) {
    std::ifstream file(std::string(WAYBOURNE_SOURCE_DIR) + "/" + path, std::ios::binary);
    if (!file) {
        throw std::runtime_error("cannot open " + path);
    }
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

const Protocol& shipped_protocol() {
    static const Protocol protocol =
        parse_protocol(read_source_file("triage/protocol/protocol.json"));
    return protocol;
}

nlohmann::json rows_of(const std::string& name) {
    const auto table = nlohmann::json::parse(read_source_file("tests/sources/" + name + ".json"));
    for (const char* key : {"source", "retrieved", "licence"}) {
        if (table.at(key).get<std::string>().empty()) {
            throw std::runtime_error(name + " has no " + key);
        }
    }
    return table.at("rows");
}

Findings findings_from(const nlohmann::json& flat) {
    Findings findings;
    Reading reading{.taken_at = test_now, .systolic = {}, .diastolic = {}, .pulse = {}};
    for (const auto& [name, value] : flat.items()) {
        if (name == "sys_bp") {
            reading.systolic = value.get<int>();
        } else if (name == "dia_bp") {
            reading.diastolic = value.get<int>();
        } else if (name == "pulse") {
            reading.pulse = value.get<int>();
        } else if (value.is_number()) {
            findings.values[name] = value.get<double>();
        } else if (value == "yes" || value == "no" || value == "unknown") {
            findings.values[name] = value == "yes"  ? Answer::yes
                                    : value == "no" ? Answer::no
                                                    : Answer::unknown;
        } else {
            findings.values[name] = value.get<std::string>();
        }
    }
    if (reading.systolic || reading.diastolic || reading.pulse) {
        findings.readings.push_back(reading);
    }
    return findings;
}

Findings findings(const std::string& flat) {
    return findings_from(nlohmann::json::parse(flat));
}

Assessment assessed(const Findings& findings, Questions questions) {
    return assess(shipped_protocol(), findings, test_now, questions);
}

Assessment assessed(const std::string& flat, Questions questions) {
    return assessed(findings(flat), questions);
}

bool fires(const Assessment& assessment, const std::string& rule) {
    return std::find(assessment.fired.begin(), assessment.fired.end(), rule) !=
           assessment.fired.end();
}

const Need* need_for(const Assessment& assessment, CapabilitySet any_of) {
    const auto need = std::find_if(assessment.needs.begin(), assessment.needs.end(),
                                   [&](const Need& n) { return n.any_of == any_of; });
    return need == assessment.needs.end() ? nullptr : &*need;
}

const Question* question_about(const Assessment& assessment, const std::string& field) {
    const auto question = std::find_if(
        assessment.questions.begin(), assessment.questions.end(), [&](const Question& q) {
            return std::find(q.fields.begin(), q.fields.end(), field) != q.fields.end();
        });
    return question == assessment.questions.end() ? nullptr : &*question;
}

long minutes(const std::optional<Seconds>& within) {
    return within ? static_cast<long>(within->count() / 60) : -1;
}

}  // namespace waybourne::triage
