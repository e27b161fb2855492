#include "server/security/audit.hpp"

#include "server/http/query.hpp"
#include "server/http/resources.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

constexpr std::size_t page_size = 500;

/// `2026-03-04`; today when the query names none.
std::string day_asked(const HttpRequest& request, Instant now) {
    constexpr std::size_t date_length = 10;
    std::string day = asked_for(request, "day").value_or(to_rfc3339(now).substr(0, date_length));
    try {
        parse_rfc3339(day + "T00:00:00Z");
    } catch (const InputError&) {
        throw InputError("the day is not one like 2026-03-04");
    }
    return day;
}

journal::Sequence after_asked(const HttpRequest& request) {
    const auto given = asked_for(request, "after");
    const auto after = given ? find_sequence(*given) : journal::Sequence{0};
    if (!after) {
        throw InputError("after is the number that the page before gave as next");
    }
    return *after;
}

HttpResponse show_reads(const Application& application, const HttpRequest& request) {
    const std::string day = day_asked(request, application.clock.now());
    const ReadPage page =
        application.audit == nullptr
            ? ReadPage{}
            : reads_of_day(application.audit->journal(), day, after_asked(request), page_size);
    JsonWriter json;
    json.begin_object().member("day", day).key("reads").begin_list();
    for (const auto& [sequence, read] : page.reads) {
        json.begin_object().member("sequence", sequence).member("at", read.at);
        json.member("who", read.who).member("path", read.path).member("shown", read.shown);
        json.end_object();
    }
    json.end_list().member("next", page.next);
    return {200, json.end_object().take()};
}

}  // namespace

std::vector<Endpoint> audit_endpoints(const Application& application) {
    const auto get = [&application](const HttpRequest& request) {
        return show_reads(application, request);
    };
    return {{"GET", "/v1/audit", Privacy::personal, get, {"day", "after"}}};
}

}  // namespace waybourne::server
