#include "server/problem.hpp"

#include <algorithm>
#include <array>

#include "server/json/writer.hpp"

namespace waybourne::server {

namespace {

struct Refusal {
    int status;
    const char* type;
    const char* title;
};

constexpr std::array refusals{
    Refusal{400, "malformed-request", "The request is malformed"},
    Refusal{401, "unauthorized", "A valid token is needed"},
    Refusal{403, "forbidden", "Not allowed"},
    Refusal{404, "not-found", "There is no such thing here"},
    Refusal{405, "method-not-allowed", "This resource does not take that method"},
    Refusal{408, "request-timeout", "The request took too long to arrive"},
    Refusal{409, "conflict", "The present state forbids it"},
    Refusal{411, "length-required", "The length of the body must be given"},
    Refusal{412, "changed-meanwhile", "Somebody else was quicker"},
    Refusal{413, "body-too-large", "The body is too large"},
    Refusal{414, "path-too-long", "The path is too long"},
    Refusal{415, "unsupported-media-type", "The body must be application/json"},
    Refusal{417, "expectation-failed", "The expectation cannot be met"},
    Refusal{421, "misdirected-request", "This server does not answer for that host"},
    Refusal{422, "key-reused", "The Idempotency-Key was used for another request"},
    Refusal{428, "precondition-required", "Say which version you have seen"},
    Refusal{429, "too-many-requests", "Too many requests"},
    Refusal{431, "headers-too-large", "The header fields are too large"},
    Refusal{503, "unavailable", "Not available at the moment"},
};

}  // namespace

Problem http_refusal(int status, std::string detail) {
    const auto found = std::find_if(refusals.begin(), refusals.end(),
                                    [&](const Refusal& r) { return r.status == status; });
    const Refusal& refusal = found == refusals.end() ? refusals.front() : *found;
    return {refusal.status, refusal.type, refusal.title, std::move(detail)};
}

Problem to_problem(const std::exception_ptr& error) {
    try {
        std::rethrow_exception(error);
    } catch (const HttpRefusal& e) {
        return e.problem();
    } catch (const InputError& e) {
        return {400, "invalid-input", "The input is not usable", e.what(), e.fields()};
    } catch (const NotFound& e) {
        return http_refusal(404, e.what());
    } catch (const Conflict& e) {
        return {409, "conflict", "The present state forbids it", e.what()};
    } catch (const DataError& e) {
        return {500, "damaged-data", "A stored file is damaged", e.what()};
    } catch (const Unavailable& e) {
        return http_refusal(503, e.what());
    } catch (...) {
        return {500, "internal", "A defect in this program",
                "the answer could not be made; the log has the request's id"};
    }
}

std::string render_problem(const Problem& problem) {
    JsonWriter json;
    json.begin_object();
    json.member("type", "/problems/" + problem.type).member("title", problem.title);
    json.member("status", problem.status).member("detail", problem.detail);
    if (!problem.errors.empty()) {
        json.key("errors").begin_list();
        for (const FieldError& error : problem.errors) {
            json.begin_object().member("pointer", error.pointer);
            json.member("detail", error.detail).end_object();
        }
        json.end_list();
    }
    for (const auto& [name, content] : problem.more) {
        json.key(name).raw(content);
    }
    return json.end_object().take();
}

int exit_code(const Problem& problem) {
    return problem.status >= 500 ? 1 : 2;
}

std::string to_line(const Problem& problem) {
    std::string line = problem.detail;
    for (std::size_t i = 0; i < problem.errors.size(); ++i) {
        const FieldError& error = problem.errors[i];
        line += (i == 0 ? ": " : "; ") + error.pointer + " " + error.detail;
    }
    std::replace(line.begin(), line.end(), '\n', ' ');
    return line;
}

}  // namespace waybourne::server
