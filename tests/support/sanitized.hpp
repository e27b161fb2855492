#pragma once
/// Whether tests run under sanitizers, which take ten times as long; what they look for shows in a
/// few cases of many.

namespace waybourne::tests {

#ifdef WAYBOURNE_SANITIZED
inline constexpr bool is_sanitized = true;
#else
inline constexpr bool is_sanitized = false;
#endif

}  // namespace waybourne::tests
