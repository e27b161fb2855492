#include "phone/answers.hpp"

#include <exception>
#include <optional>

#include "server/answer_json.hpp"
#include "server/json/request.hpp"
#include "server/languages.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::phone {

namespace {

using server::Snapshot;

std::optional<std::string> posted(const Snapshot& snapshot, const Question& question, Instant now) {
    const Catalogue& catalogue = server::catalogue_for(snapshot, question.languages);
    if (question.path == "/v1/assessments") {
        return server::assessment_json(snapshot, question.body, now, catalogue);
    }
    if (question.path == "/v1/recommendations") {
        return server::recommendation_json(
            snapshot, server::parse_recommendation_request(question.body), now, catalogue);
    }
    if (question.path == "/v1/routes") {
        return server::route_json(snapshot, question.body, now);
    }
    return std::nullopt;
}

std::optional<std::string> got(const Snapshot& snapshot, const Question& question, Instant now) {
    constexpr std::string_view facilities = "/v1/facilities";
    const Catalogue& catalogue = server::catalogue_for(snapshot, question.languages);
    constexpr std::string_view readiness = "/readiness";
    if (question.path == "/v1/protocol") {
        return server::protocol_json(snapshot, catalogue);
    }
    if (question.path == facilities) {
        return server::facilities_json(snapshot);
    }
    if (!question.path.starts_with(facilities) || question.path[facilities.size()] != '/') {
        return std::nullopt;
    }
    std::string_view id = question.path.substr(facilities.size() + 1);
    const bool asks_readiness = id.ends_with(readiness);
    if (asks_readiness) {
        id.remove_suffix(readiness.size());
    }
    if (id.empty() || id.find('/') != std::string_view::npos) {
        return std::nullopt;
    }
    const FacilityId facility{std::string(id)};
    return asks_readiness ? server::readiness_json(snapshot, facility, now, catalogue)
                          : server::facility_json(snapshot, facility);
}

}  // namespace

Answer to_answer(const server::Problem& problem) {
    return {problem.status, server::render_problem(problem)};
}

Answer answer(const Snapshot* snapshot, const Question& question, Instant now) {
    try {
        if (snapshot == nullptr) {
            throw Unavailable("there is no district pack on this phone yet");
        }
        std::optional<std::string> text;
        if (question.method == "POST") {
            text = posted(*snapshot, question, now);
        } else if (question.method == "GET") {
            text = got(*snapshot, question, now);
        }
        if (!text) {
            throw NotFound("nothing is served under this path");
        }
        return {200, std::move(*text)};
    } catch (...) {
        return to_answer(server::to_problem(std::current_exception()));
    }
}

}  // namespace waybourne::phone
