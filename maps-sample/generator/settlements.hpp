#pragma once
/// Where women live: towns and villages with the births of a year.

#include <string>
#include <vector>

#include "maps-sample/generator/plane.hpp"
#include "maps-sample/generator/random.hpp"

namespace waybourne::sample {

struct Settlement {
    std::string name;
    Point place;
    /// `town` or `village`, as OpenStreetMap's key `place` has them.
    std::string kind;
    int population = 0;
    /// 34 births a year per 1,000 people: an invented figure of a usual size.
    int births_per_year() const { return (population * 34 + 500) / 1000; }
};

/// The towns and villages of the plan: places that the stories name.
const std::vector<Settlement>& named_settlements();

/// A name in the language of the district, which nobody speaks, not yet in `taken`.
std::string invent_name(Random& random, const std::vector<Settlement>& taken);

/// Villages scattered over dry land, more of them near what is there already; the named ones first.
std::vector<Settlement> scatter_settlements(Random& random, std::size_t count);

}  // namespace waybourne::sample
