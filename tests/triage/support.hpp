#pragma once
/// What the triage tests share: the protocol that ships, findings in one line, tables of cases.

#include <initializer_list>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>

#include "triage/assess.hpp"
#include "triage/findings.hpp"
#include "triage/protocol.hpp"

namespace waybourne::triage {

/// The moment at which the tests take place: 4 March 2026, 09:40 UTC.
inline constexpr Instant test_now{std::chrono::seconds{1772617200}};

/// A file of the source tree.
std::string read_source_file(const std::string& path);

/// The protocol that ships with the program, read once.
const Protocol& shipped_protocol();

/// The rows of `tests/sources/<name>.json`; refuses a table without a source.
nlohmann::json rows_of(const std::string& name);

/// From flat findings, in which the numbers of a reading stand beside the others, taken now.
Findings findings_from(const nlohmann::json& flat);

/// The same, from text: `findings(R"({"sys_bp": 165})")`.
Findings findings(const std::string& flat);

/// With the protocol that ships, at `test_now`.
Assessment assessed(const Findings& findings, Questions questions = Questions::leave_out);
Assessment assessed(const std::string& flat, Questions questions = Questions::leave_out);

bool fires(const Assessment& assessment, const std::string& rule);
const Need* need_for(const Assessment& assessment, CapabilitySet any_of);
const Question* question_about(const Assessment& assessment, const std::string& field);

/// In whole minutes; -1 for none.
long minutes(const std::optional<Seconds>& within);

}  // namespace waybourne::triage
