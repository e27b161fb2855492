#include "dispatch/vehicle_report.hpp"

namespace waybourne::dispatch {

VehicleReport with_news(VehicleReport known, const VehicleReport& next) {
    if (next.position && (!known.position || known.position->at <= next.position->at)) {
        known.position = next.position;
    }
    if (next.state && (!known.state || known.state->said_at <= next.state->said_at)) {
        known.state = next.state;
    }
    return known;
}

Vehicle with_report(Vehicle vehicle, const VehicleReport& report) {
    const auto& stood = vehicle.last_position;
    if (report.position && (!stood || stood->at <= report.position->at)) {
        vehicle.last_position = report.position;
    }
    if (!report.state) {
        return vehicle;
    }
    vehicle.busy.reset();
    vehicle.called_in.reset();
    if (report.state->hold) {
        vehicle.busy = Busy{report.state->until, *report.state->hold};
    } else if (report.state->until) {
        vehicle.called_in = Duty{report.state->said_at, *report.state->until};
    }
    return vehicle;
}

}  // namespace waybourne::dispatch
