#pragma once
/// Steps that are compiled twice: plain, and for processors that take four or eight numbers at
/// once.

namespace waybourne::routing {

/// @tparam step a function that is always inlined, so that each version is compiled as its own
template <auto step>
struct Wide;

template <typename... Arguments, void (*step)(Arguments...)>
struct Wide<step> {
    /// The step as this processor does it best.
    static auto best() {
#if defined(__x86_64__)
        if (__builtin_cpu_supports("avx2")) {
            return &wide;
        }
#endif
        return &plain;
    }

private:
    static void plain(Arguments... arguments) {
        step(arguments...);
    }
#if defined(__x86_64__)
    [[gnu::target("avx2")]] static void wide(Arguments... arguments) {
        step(arguments...);
    }
#endif
};

}  // namespace waybourne::routing
