#pragma once
/// Errors as they leave the program: RFC 9457 problem details over HTTP, one line and an exit code
/// on the command line. The one place that knows which kind of error has which status.

#include <exception>
#include <string>
#include <utility>
#include <vector>

#include "vocabulary/error.hpp"

namespace waybourne::server {

/// A problem as RFC 9457 describes it. `type` is stable: clients may depend on it.
struct Problem {
    int status = 500;
    /// The last part of the type, e.g. `invalid-input` for `/problems/invalid-input`.
    std::string type;
    std::string title;
    std::string detail;
    std::vector<FieldError> errors = {};
    /// Extra response headers, e.g. `Allow`.
    std::vector<std::pair<std::string, std::string>> headers = {};
    /// Members of its own (RFC 9457, section 3.2), the content as JSON text.
    std::vector<std::pair<std::string, std::string>> more = {};
    /// Codes of the cases that it tells of, for the audit trail.
    std::vector<std::string> shown = {};
};

/// HTTP's own refusals, so that a handler can throw one. Never leaves `server/`.
class HttpRefusal : public std::exception {
public:
    explicit HttpRefusal(Problem problem) : problem_(std::move(problem)) {}
    const Problem& problem() const { return problem_; }
    const char* what() const noexcept override { return problem_.detail.c_str(); }

private:
    Problem problem_;
};

/// The refusal HTTP itself has for this status: 400, 401, 403, 404, 405, 408, 409, 411, 412, 413,
/// 414, 415, 417, 421, 422, 428, 429, 431 or 503.
Problem http_refusal(int status, std::string detail);

/// Any exception as a problem. Of a defect only that it happened is told: what it said belongs in
/// the log, since it may hold personal data.
Problem to_problem(const std::exception_ptr& error);

/// The `application/problem+json` body.
std::string render_problem(const Problem& problem);

/// 2: the input is at fault. 1: we are.
int exit_code(const Problem& problem);

/// Everything on one line, for standard error.
std::string to_line(const Problem& problem);

}  // namespace waybourne::server
