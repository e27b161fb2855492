#pragma once
/// What was last heard of every facility at the moment the sample plays at.

#include <string>
#include <string_view>

namespace waybourne::sample {

/// The moment of the sample: a Wednesday morning in the wet season.
inline constexpr std::string_view sample_now = "2026-03-04T09:40:00Z";

/// The instant so many minutes before `sample_now` (after it when negative), in RFC 3339.
std::string minutes_before_now(int minutes);

/// `reports.json`: one report about every resource, not older than it may be, except for the
/// shortages and silences that reports.cpp lists.
std::string reports_text();

}  // namespace waybourne::sample
