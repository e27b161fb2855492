#pragma once
/// Everything about a request that can be judged before its body is read.

#include <map>
#include <string>

#include "server/http/endpoint.hpp"
#include "server/http/server.hpp"
#include "server/problem.hpp"

namespace waybourne::server {

/// The request line and the header fields. Names in the order and case of the HTTP library's own
/// comparison, which ignores capitals.
struct RequestHead {
    std::string method;
    std::string target;
    std::vector<std::pair<std::string, std::string>> fields;

    template <typename Fields>
    RequestHead(std::string method_given, std::string target_given, const Fields& fields_given)
        : method(std::move(method_given)),
          target(std::move(target_given)),
          fields(fields_given.begin(), fields_given.end()) {}

    std::size_t count(std::string_view name) const;
    /// The first of that name; empty when there is none.
    std::string field(std::string_view name) const;
};

/// Length of the target and of the header, and on loopback only names of this machine: a
/// web page elsewhere must not reach a server without keys by pointing its own name at 127.0.0.1.
/// @throws HttpRefusal 414, 421, 431
void check_head(const RequestHead& head, const HttpSettings& settings);

/// @throws HttpRefusal 404
PathMatch check_path(const RequestHead& head, const std::string& path,
                     const EndpointTable& endpoints);

/// @throws HttpRefusal 405 with `Allow`
void check_method(const RequestHead& head, const PathMatch& path, const EndpointTable& endpoints);

/// What the query says, by name. Only ids and choices stand in an address, since addresses are
/// remembered along the way: letters, digits and `-_.:`, each name once, and only those that the
/// endpoint takes.
/// @throws HttpRefusal 400
std::map<std::string, std::string> check_query(const RequestHead& head, const Endpoint& endpoint);

/// The length must be clear and within the limit (RFC 9112, section 6.3: what can be read in two
/// ways is refused), the content JSON.
/// @throws HttpRefusal 400, 411, 413, 415
/// Whether requests of this method bring a body.
bool takes_body(std::string_view method);

void check_body(const RequestHead& head, const HttpSettings& settings);

Problem body_too_large(const HttpSettings& settings);

}  // namespace waybourne::server
