#pragma once
/// What the vehicles that are left still reach in time: the expected cover of the next call.
///
/// A vehicle is busy a share q of the time. With k of them within reach of a zone, the chance that
/// one is free when the call comes is
///
///     1 − q^k                                     Daskin's MEXCLP, vehicles taken as independent
///                                                 (Transportation Science 17, 1983, 48-70)
///     Σ_{j=0..k-1} Q(p, q, j) (1 − q) q^j         with Larson's correction for p vehicles that
///                                                 share the work: AMEXCLP (Batta, Dolan,
///                                                 Krishnamurthy, Transportation Science 23, 1989,
///                                                 277-287)
///
/// summed over the zones by their share of the expected calls.

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "vocabulary/identifier.hpp"
#include "vocabulary/message.hpp"

namespace waybourne::dispatch {

/// A place from which calls come.
struct Zone {
    std::string name;
    /// Expected calls, on any scale.
    double weight = 0;
};

/// Which vehicles reach which zone in time, by their indices.
class ReachTable {
public:
    ReachTable(std::size_t zones, std::size_t vehicles)
        : vehicles_(vehicles), reaches_(zones * vehicles, false) {}
    std::size_t zones() const { return vehicles_ == 0 ? 0 : reaches_.size() / vehicles_; }
    std::size_t vehicles() const { return vehicles_; }
    void set(std::size_t zone, std::size_t vehicle, bool reaches = true) {
        reaches_.at(zone * vehicles_ + vehicle) = reaches;
    }
    bool reaches(std::size_t zone, std::size_t vehicle) const {
        return reaches_.at(zone * vehicles_ + vehicle);
    }

private:
    std::size_t vehicles_;
    std::vector<bool> reaches_;
};

enum class BusyModel { independent, corrected };

/// Larson's correction Q(p, q, j): by how much the chance that exactly the first j vehicles tried
/// are busy and the next is free differs from (1 − q) q^j when p vehicles share the calls and those
/// that find none free wait (Larson, Operations Research 23, 1975, 845-868).
/// @param servers p, at least 1
/// @param tried j, below p
/// @param busy q, from 0 to below 1
/// @throws InputError for anything else
double larson_correction(std::size_t servers, double busy, std::size_t tried);

/// The chance that one of the `within_reach` of `servers` vehicles is free.
/// @throws InputError as above, and when more are within reach than there are
double chance_one_is_free(std::size_t within_reach, std::size_t servers, double busy,
                          BusyModel model);

/// Expected calls reached in time, in the zones' scale.
/// @param idle the vehicles that count, by index
double expected_cover(std::span<const Zone> zones, const ReachTable& table,
                      std::span<const std::size_t> idle, double busy,
                      BusyModel model = BusyModel::independent);

/// λ · mean mission ÷ vehicles, at most 0.95: the busy share to begin with.
/// @throws InputError for no vehicle or a negative figure
double busy_share(double calls_per_hour, double mission_hours, std::size_t vehicles);

/// What sending one costs: E(X) − E(X without it).
double cost_of_sending(std::span<const Zone> zones, const ReachTable& table,
                       std::span<const std::size_t> idle, std::size_t vehicle, double busy);

/// Where a freed vehicle should wait: the base with the greatest Σ w (1 − q) q^k over the zones it
/// reaches in time, k counting the other idle vehicles (DMEXCLP: Jagtenberg, Bhulai, van der Mei,
/// Operations Research for Health Care 4, 2015, 27-35). Of equal ones the first.
struct WaitingPlace {
    std::size_t base = 0;
    double gains = 0;
};
/// @param of_bases which bases reach which zone in time
/// @return none where there is no base
std::optional<WaitingPlace> where_to_wait(std::span<const Zone> zones, const ReachTable& of_bases,
                                          const ReachTable& table,
                                          std::span<const std::size_t> others, double busy);

/// The id of the message that warns: the last vehicle within reach of an area leaves.
inline constexpr const char* last_vehicle_leaves = "dispatch.last_vehicle_leaves";

/// The cover before and after vehicles leave, in words.
struct CoverReport {
    double before = 0;
    double after = 0;
    /// Shares of all expected calls, from 0 to 1.
    double share_before = 0;
    double share_after = 0;
    /// How much is reached, which zone is weakest, and a warning for each zone that the last
    /// vehicle within reach leaves.
    std::vector<Message> messages;
};
CoverReport cover_report(std::span<const Zone> zones, const ReachTable& table,
                         std::span<const std::size_t> idle, std::span<const std::size_t> leaving,
                         double busy);

}  // namespace waybourne::dispatch
