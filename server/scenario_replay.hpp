#pragma once
/// A saved what-if made again from the inputs that were recorded with it, and held against what it
/// said then. What was saved is never touched.

#include <optional>
#include <string>
#include <vector>

#include "coverage/work.hpp"
#include "server/json/value.hpp"
#include "server/referrals/replay.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// Files that a person at a terminal named when it was saved; empty: the district's own.
struct ScenarioFiles {
    std::string settlements = {};
    std::string areas = {};
};

struct ScenarioReplay {
    /// Inputs that are no longer what they were, and so why the figures of then cannot be made
    /// again: names as `planning_inputs` and `program`. `then` is empty where it was not recorded.
    std::vector<ChangedSource> changed;
    /// Names of those that are what they were.
    std::vector<std::string> unchanged;
    /// The same question, moment and road conditions by what is known today, as `POST
    /// /v1/coverage/what-ifs` answers. None where it cannot be answered: `failure` says why.
    std::optional<JsonValue> now;
    std::string failure;
    bool figures_are_the_same = false;

    /// Everything that was recorded is as it was, so the figures must be the same.
    bool inputs_are_the_same() const { return changed.empty(); }
};

/// @param saved as `saved_scenario_json` gives it, or as `what-if --save` wrote it
/// @throws InputError where it is no saved what-if; Unavailable when stopped or every search is
/// busy
ScenarioReplay replay_scenario(const Snapshot& snapshot, const JsonValue& saved,
                               const ScenarioFiles& files, Instant now,
                               const coverage::Work& work = {});

/// `{"name", "saved_at", "inputs_are_the_same", "figures_are_the_same", "changed", "unchanged",
/// "then", "now", "failure"}`
std::string to_json(const JsonValue& saved, const ScenarioReplay& replay);

}  // namespace waybourne::server
