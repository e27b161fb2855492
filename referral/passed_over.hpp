#pragma once
/// Why she is not sent to a nearer place.

#include "referral/staged.hpp"

namespace waybourne::referral {

/// Each place nearer than the last one of `chosen` (less typical time straight from where she is)
/// that is no stop of it, nearest first, with every reason; never without one. Also, whatever the
/// distance, each place that refused or did not answer, and each that lies off the map; and each
/// that no way leads to although it is nearer as the crow flies. Without `chosen`: every place. The
/// place where she is is left out.
std::vector<PassedOver> passed_over(const Situation& situation, Ways& ways, const Plan* chosen);

}  // namespace waybourne::referral
