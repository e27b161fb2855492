#include "server/referrals/note.hpp"

#include "referral/referral_code.hpp"
#include "server/http/changes.hpp"
#include "server/http/resources.hpp"
#include "server/referrals/permission.hpp"

namespace waybourne::server {

namespace {

HttpResponse print_note(const Application& application, const HttpRequest& request) {
    const Records& records = records_of(application);
    const auto record = application.desk->visible(
        request.caller, referral::parse_referral_code(request.path_values.at(0)));
    require_allowed(gives_care(request.caller), request.caller);
    HttpResponse response{200, render_note_pdf(note_page(records.journal(), records.base(), *record,
                                                         application.link_base))};
    response.content_type = "application/pdf";
    // The name that a phone saves it under says nothing but the code.
    response.headers.emplace_back("Content-Disposition",
                                  "inline; filename=\"referral-" + record->code + ".pdf\"");
    return response;
}

}  // namespace

std::vector<Endpoint> note_endpoints(const Application& application) {
    const auto get = [&application](const HttpRequest& request) {
        return print_note(application, request);
    };
    return {{"GET", "/v1/referrals/{code}/note.pdf", Privacy::personal,
             worked_out_by(application.workers, get)}};
}

}  // namespace waybourne::server
