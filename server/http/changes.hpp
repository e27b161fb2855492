#pragma once
/// What the resources that change something have in common.

#include "server/application.hpp"
#include "server/referrals/desk.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

/// @throws Unavailable without a journal
Records& records_of(const Application& application);

/// Who calls, under which key and precondition, and the fingerprint of the whole request.
Call call_of(const HttpRequest& request);

/// The referral as it was when the call was stored, with its entity tag.
HttpResponse told_response(const Application& application, const HttpRequest& request,
                           const Told& told);

/// A recommendation as `POST /v1/recommendations` answers it.
HttpResponse recommendation_response(const Application& application, const Caller& caller,
                                     const RecommendationRequest& request);

}  // namespace waybourne::server
