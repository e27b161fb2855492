#pragma once
/// A recommendation as the journal keeps it, so that it can be made again and compared.

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "journal/envelope.hpp"
#include "server/answer.hpp"
#include "server/request.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// What an answer rests on besides the request.
struct Basis {
    /// Of the program.
    std::string version;
    /// `Snapshot::files`: what each holds, and its SHA-256.
    std::map<std::string, std::string> files = {};
    /// `Snapshot::read_at`; none: not written down.
    std::optional<Instant> read_at = {};
    /// `Snapshot::known`
    journal::Sequence known = 0;
    /// The ids of the road changes, in force or not; none: not written down.
    std::optional<std::vector<std::string>> road_changes = {};
    bool operator==(const Basis&) const = default;
};

Basis basis_of(const Snapshot& snapshot);

struct KeptAnswer {
    /// The moment it was made for.
    Instant at{};
    RecommendationRequest request;
    Basis basis;
    /// Of the whole answer as JSON, without the stamp of its snapshot.
    std::string sha256;
    /// The answer as JSON, without what is long and follows from the rest: lines on the map, names
    /// of roads, the note, the questions.
    std::string answer;
    /// The note that goes with her to the place that is asked, with her code; empty: nobody is
    /// asked.
    std::string note = {};
};

KeptAnswer keep_answer(const Snapshot& snapshot, const RecommendationRequest& request,
                       const Answer& answer, Instant at);

}  // namespace waybourne::server
