#pragma once
/// Which of the two engines finds the ways.

#include <cstdint>
#include <string>
#include <string_view>

namespace waybourne::server {

/// The two give the same answers; they differ in how soon.
enum class Engine : std::uint8_t { reference, hierarchy };

/// What somebody asked for.
enum class EngineChoice : std::uint8_t { automatic, reference, hierarchy };

/// From this many junctions on the hierarchy answers a referral's questions sooner than the
/// reference engine; below it, preparing one would buy nothing. Measured by `script/bench --only
/// engine`: see docs/decisions/0003-two-engines-one-interface.md.
inline constexpr std::uint32_t fewest_nodes_for_hierarchy = 150;

Engine engine_for(EngineChoice choice, std::uint32_t nodes);

/// `reference` or `hierarchy`.
std::string to_name(Engine engine);

/// From `automatic`, `reference` or `hierarchy`.
/// @throws InputError
EngineChoice parse_engine_choice(std::string_view text);

}  // namespace waybourne::server
