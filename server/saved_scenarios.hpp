#pragma once
/// What-ifs that a planner has saved under a name, in the journal: question, inputs and answer as
/// they were, so that they read the same after a map update. `scenario_replay.hpp` makes them
/// again.

#include <string>

#include "server/referrals/records.hpp"

namespace waybourne::server {

/// Both are JSON, kept byte for byte.
struct SavedScenario {
    /// Letters, digits and -_.: only, at most 80.
    std::string name;
    std::string request;
    std::string answer;
    std::string who;
    Instant at{};
};

/// Under a name that is there already the newer counts; the older stays in the journal.
/// @throws InputError for a bad name, Conflict when there are too many, as the journal does
void save_scenario(Records& records, const SavedScenario& scenario);

/// @throws NotFound
std::string saved_scenario_json(const journal::Journal& journal, const std::string& name);
/// All names, with when and by whom each was last saved, in the order of the names.
std::string saved_scenarios_json(const journal::Journal& journal);

}  // namespace waybourne::server
