#pragma once
/// The eight vehicles.

#include <string>

namespace waybourne::sample {

/// `vehicles.json`, as README.md describes it.
std::string vehicles_text();

}  // namespace waybourne::sample
