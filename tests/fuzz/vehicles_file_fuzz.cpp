/// Vehicles from anywhere: whatever the bytes are, they are read or refused, and what is read can
/// be asked when it is free and where it is.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <set>
#include <string_view>

#include "dispatch/vehicle_file.hpp"
#include "vocabulary/error.hpp"

namespace {

using namespace waybourne;
using namespace waybourne::dispatch;

constexpr Instant now{std::chrono::sys_days{std::chrono::year{2026} / 3 / 4} + 10h};

void use(const Vehicle& vehicle) {
    const VehicleSettings settings;
    const Availability free = availability(vehicle, TimeZone{}, now, settings);
    if (free.from && (*free.from < now || *free.from > now + settings.waits_for_shift)) {
        std::abort();
    }
    if (!free.from && free.reasons.empty()) {
        std::abort();
    }
    if (mobilisation_at(vehicle, TimeZone{}, now) < Seconds{0} ||
        vehicle.seats.lying + vehicle.seats.sitting <= 0) {
        std::abort();
    }
    position_of(vehicle, now, settings);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    try {
        const auto vehicles = read_vehicles({reinterpret_cast<const char*>(data), size});
        std::set<VehicleId> ids;
        for (const Vehicle& vehicle : vehicles) {
            use(vehicle);
            if (!ids.insert(vehicle.id).second) {
                std::abort();
            }
        }
    } catch (const InputError&) {
        // refused, as it should be
    }
    return 0;
}
