#pragma once
/// Where boats land on the Ishuvel, and how long they take.

#include <string>

namespace waybourne::sample {

/// `boat_ways.json`, as docs/dispatch.md describes it.
std::string boat_ways_text();

}  // namespace waybourne::sample
