#pragma once
/// The part of the API that a phone answers by itself.

#include <string>
#include <string_view>

#include "server/problem.hpp"
#include "server/snapshot.hpp"

namespace waybourne::phone {

struct Question {
    std::string_view method;
    std::string_view path;
    std::string_view body;
    /// As in an `Accept-Language` field; empty: the district's.
    std::string_view languages = {};
};

/// JSON, or a problem where the status is 400 or more.
struct Answer {
    int status = 200;
    std::string text;
    bool operator==(const Answer&) const = default;
};

Answer to_answer(const server::Problem& problem);

/// What the server would answer from the same snapshot at the same second, byte for byte. What only
/// a server can answer is 404.
/// @param snapshot null: there is no pack yet, 503
Answer answer(const server::Snapshot* snapshot, const Question& question, Instant now);

}  // namespace waybourne::phone
