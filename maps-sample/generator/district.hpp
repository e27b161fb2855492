#pragma once
/// All files of the sample district.

#include <cstddef>
#include <cstdint>
#include <map>
#include <string>

namespace waybourne::sample {

inline constexpr std::size_t settlement_count = 172;
/// Where the settlements' random numbers start.
inline constexpr std::uint64_t district_seed = 7;

/// The content of each file by its name: the same on every machine, every time. The manifest among
/// them has the SHA-256 of all others.
std::map<std::string, std::string> make_district();

}  // namespace waybourne::sample
