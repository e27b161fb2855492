#include "dispatch/district_year.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "dispatch/internal/ways.hpp"
#include "dispatch/remembered_roads.hpp"
#include "dispatch/transport_plan.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

namespace {

using routing::TravelTime;

constexpr std::array<std::string_view, 3> policy_names{"one_plan", "each_by_itself",
                                                       "nearest_free"};

/// How long nothing new is expected where nothing is known to happen.
constexpr Seconds look_again = 1h;

/// What is drawn about a woman for one purpose, whatever was drawn before.
enum class Draw : std::uint64_t { complication, transport, approach, onward, readiness, start };

RandomSource random_for(std::uint64_t seed, Draw purpose, std::uint64_t first,
                        std::uint64_t second = 0) {
    std::uint64_t mixed = seed;
    for (const std::uint64_t part : {static_cast<std::uint64_t>(purpose), first, second}) {
        mixed = RandomSource(mixed ^ part).next();
    }
    return RandomSource(mixed);
}

/// How long a way with this spread takes for somebody with that luck.
Seconds drawn(const TravelTime& way, double luck) {
    constexpr double normal_90th = 1.2816;
    if (way.typical <= Seconds{0} || way.allow <= way.typical) {
        return std::max(way.typical, Seconds{0});
    }
    const auto typical = static_cast<double>(way.typical.count());
    const double spread = std::log(static_cast<double>(way.allow.count()) / typical) / normal_90th;
    return Seconds{std::llround(typical * std::exp(spread * luck))};
}

/// What truly happens to one woman on one way.
struct Happening {
    /// When each need begins to be met; none: not.
    std::vector<std::optional<Instant>> needs = {};
    std::optional<Instant> with_her = {};
    Instant ends{};
    FacilityId last_place;
    std::size_t places_in_vain = 0;
};

/// One simulated year while it runs.
class Year {
public:
    Year(const DispatchSituation& situation, std::span<const BirthPlace> places,
         std::span<const Complication> complications, std::span<const Vehicle> vehicles,
         const YearSettings& settings)
        : given_(situation),
          roads_(situation.roads, RememberedRoads::Keeps::what_never_changes),
          places_(places),
          complications_(complications),
          settings_(settings),
          vehicles_(vehicles.begin(), vehicles.end()),
          returns_at_(vehicles.size()) {}

    SimulatedYear run(const Progress& progress) {
        const std::vector<SimulatedCall> calls = draw_women();
        const Policy decide = [this](std::span<const SimulatedCall> waiting,
                                     std::span<const std::size_t> numbers, Instant now,
                                     const std::vector<bool>& is_free) {
            return decisions(waiting, numbers, now, is_free);
        };
        const SimulationResult result =
            simulate(calls, vehicles_.size(), decide, WhenNobodyIsFree::waits, progress);
        year_.trips = result.trips;
        const auto length = static_cast<double>((settings_.until - settings_.from).count());
        for (const Seconds away : away_) {
            year_.use.push_back(static_cast<double>(away.count()) / length);
        }
        return std::move(year_);
    }

private:
    DispatchSituation at(Instant now) {
        if (!roads_now_ || now != roads_are_of_) {
            roads_now_.emplace(static_cast<DistrictRoads&>(roads_));
            roads_are_of_ = now;
        }
        return {given_.facilities, *roads_now_, given_.zone, given_.choice, given_.settings, now};
    }

    std::vector<SimulatedCall> draw_women() {
        away_.resize(vehicles_.size());
        std::vector<double> births;
        double per_year = 0;
        for (const BirthPlace& place : places_) {
            births.push_back(place.births_per_year);
            per_year += place.births_per_year;
        }
        std::vector<double> weights;
        double total = 0;
        for (const Complication& one : complications_) {
            weights.push_back(one.weight);
            total += one.weight;
        }
        RandomSource random(settings_.seed);
        const auto all = random_calls(births, per_year, settings_.from, settings_.until, random);
        year_.births = all.size();
        std::vector<SimulatedCall> calls;
        for (std::size_t birth = 0; birth < all.size(); ++birth) {
            RandomSource luck = random_for(settings_.seed, Draw::complication, birth);
            if (luck.share() > settings_.complications_per_birth) {
                continue;
            }
            add_woman(all[birth], kind_of(weights, luck.share() * total), calls);
        }
        return calls;
    }
    static std::size_t kind_of(const std::vector<double>& weights, double left) {
        std::size_t kind = 0;
        while (kind + 1 < weights.size() && left > weights[kind]) {
            left -= weights[kind];
            ++kind;
        }
        return kind;
    }
    void add_woman(const SimulatedCall& call, std::size_t kind, std::vector<SimulatedCall>& calls) {
        OpenReferral referral;
        referral.id = ReferralId{std::to_string(calls.size())};
        referral.assessment = complications_[kind].assess(call.at);
        if (!referral.assessment.refer) {
            return;
        }
        referral.at = places_[call.place].point;
        RandomSource luck = random_for(settings_.seed, Draw::transport, calls.size());
        if (luck.share() <= settings_.own_transport_share) {
            referral.own_transport = settings_.own_transport;
        }
        SimulatedWoman woman;
        woman.at = call.at;
        woman.place = call.place;
        woman.complication = kind;
        woman.lateness = lateness(
            referral, std::vector<std::optional<Instant>>(referral.assessment.needs.size()));
        year_.women.push_back(woman);
        referrals_.push_back(std::move(referral));
        all_refused_at_.emplace_back();
        rounds_.push_back(0);
        calls.push_back(call);
    }

    double lateness(const OpenReferral& referral,
                    const std::vector<std::optional<Instant>>& begins) const {
        const triage::Assessment& assessment = referral.assessment;
        const Instant never = assessment.assessed_at + given_.choice.unmet_after;
        double sum = 0;
        for (std::size_t index = 0; index < begins.size(); ++index) {
            const triage::Need& need = assessment.needs[index];
            if (need.available_here || !need.deadline) {
                continue;
            }
            const Seconds late = begins[index].value_or(never) - *need.deadline;
            const Seconds within = need.within.value_or(*need.deadline - assessment.assessed_at);
            sum += referral::lateness_of(need.critical, std::max(late, Seconds{0}), within,
                                         given_.choice);
        }
        return sum;
    }

    /// Plans, phones and plans again until nothing more is to be decided at this moment.
    Decisions decisions(std::span<const SimulatedCall> waiting,
                        std::span<const std::size_t> numbers, Instant now,
                        const std::vector<bool>& is_free) {
        Decisions decided;
        std::vector<std::size_t> open;
        for (std::size_t call = 0; call < waiting.size(); ++call) {
            if (now - waiting[call].at > settings_.given_up_after) {
                decided.given_up.push_back(call);
            } else {
                open.push_back(call);
            }
        }
        is_free_ = is_free;
        come_home(now);
        phone_again(open, numbers, now);
        while (!open.empty() && go_on(open, numbers, now, decided)) {
        }
        if (!open.empty()) {
            decided.ask_again_at = next_look(open, waiting, now);
        }
        return decided;
    }
    /// Places that have all refused a woman are asked anew.
    void phone_again(const std::vector<std::size_t>& open, std::span<const std::size_t> numbers,
                     Instant now) {
        for (const std::size_t call : open) {
            const std::size_t number = numbers[call];
            if (all_refused_at_[number] && now - *all_refused_at_[number] >= look_again) {
                all_refused_at_[number].reset();
                referrals_[number].calls.clear();
                ++rounds_[number];
            }
        }
    }
    /// A vehicle that nobody has heard of is at its base.
    void come_home(Instant now) {
        for (std::size_t vehicle = 0; vehicle < vehicles_.size(); ++vehicle) {
            if (is_free_[vehicle] && vehicles_[vehicle].last_position &&
                returns_at_[vehicle] <= now) {
                vehicles_[vehicle].last_position.reset();
            }
        }
    }
    /// @return whether something was decided that changes the plan for those still open
    bool go_on(std::vector<std::size_t>& open, std::span<const std::size_t> numbers, Instant now,
               Decisions& decided) {
        const std::vector<Carried> plan = planned(open, numbers, now);
        for (const Carried& carried : plan) {
            const std::size_t number = number_of(carried.referral);
            if (carried.way.is_possible() &&
                phoned_in_vain(number, carried.way, referrals_[number])) {
                return true;
            }
            if (!carried.way.is_possible() && !referrals_[number].calls.empty() &&
                !all_refused_at_[number]) {
                all_refused_at_[number] = now;
            }
        }
        for (const Carried& carried : plan) {
            if (!carried.way.is_possible() || !can_go_now(carried.way, now)) {
                continue;
            }
            if (const auto broken = does_not_start(carried, now)) {
                hold(*broken, now, decided);
                return true;
            }
        }
        std::vector<std::size_t> left;
        std::map<std::size_t, Instant> away_until;
        for (const Carried& carried : plan) {
            const std::size_t call = call_of(open, numbers, carried.referral);
            if (!carried.way.is_possible() || !can_go_now(carried.way, now)) {
                left.push_back(call);
                continue;
            }
            go(call, carried, now, away_until, decided);
        }
        for (const auto& [vehicle, until] : away_until) {
            is_free_[vehicle] = false;
            away_[vehicle] += until - now;
            decided.away.push_back({vehicle, until - now});
        }
        std::sort(left.begin(), left.end());
        open = std::move(left);
        return false;
    }

    std::vector<Carried> planned(const std::vector<std::size_t>& open,
                                 std::span<const std::size_t> numbers, Instant now) {
        if (settings_.policy == SendingPolicy::one_plan) {
            std::vector<OpenReferral> women;
            women.reserve(open.size());
            for (const std::size_t call : open) {
                women.push_back(referrals_[numbers[call]]);
            }
            PlanRequest request{women, vehicles_};
            return plan_transport(at(now), request).carried;
        }
        std::vector<Carried> plan;
        std::vector<Vehicle> left = vehicles_;
        for (const std::size_t call : open) {
            const OpenReferral& woman = referrals_[numbers[call]];
            Carried carried = settings_.policy == SendingPolicy::each_by_itself
                                  ? best_alone(woman, left, now)
                                  : nearest_free(woman, left, now);
            std::erase_if(left, [&](const Vehicle& vehicle) {
                const auto& used = carried.way.vehicles;
                return carried.way.is_possible() &&
                       std::find(used.begin(), used.end(), vehicle.id) != used.end();
            });
            plan.push_back(std::move(carried));
        }
        return plan;
    }
    Carried best_alone(const OpenReferral& woman, const std::vector<Vehicle>& left, Instant now) {
        PlanRequest request{{&woman, 1}, left};
        return plan_transport(at(now), request).carried.front();
    }
    Carried nearest_free(const OpenReferral& woman, const std::vector<Vehicle>& left, Instant now) {
        const DispatchSituation situation = at(now);
        const Vehicle* nearest = nullptr;
        Instant soonest{};
        for (const Vehicle& vehicle : left) {
            const auto approached = approach_of(situation, woman, vehicle, now);
            const bool is_now = approached.approach && is_free_now(vehicle, now);
            const Instant with_her =
                is_now ? approached.approach->sets_out + approached.approach->travel_time.typical
                       : Instant{};
            if (is_now && (nearest == nullptr || with_her < soonest)) {
                nearest = &vehicle;
                soonest = with_her;
            }
        }
        if (nearest != nullptr) {
            return {woman.id, vehicle_way(situation, woman, *nearest, now), {}};
        }
        return {woman.id, woman.own_transport ? own_way(situation, woman, now) : Way{}, {}};
    }

    std::size_t number_of(const ReferralId& id) const {
        return static_cast<std::size_t>(std::stoull(id.value()));
    }
    std::size_t call_of(const std::vector<std::size_t>& open, std::span<const std::size_t> numbers,
                        const ReferralId& id) const {
        return *std::find_if(open.begin(), open.end(),
                             [&](std::size_t call) { return numbers[call] == number_of(id); });
    }
    std::size_t index_of(const VehicleId& id) const {
        const auto found = std::find_if(vehicles_.begin(), vehicles_.end(),
                                        [&](const Vehicle& vehicle) { return vehicle.id == id; });
        return static_cast<std::size_t>(found - vehicles_.begin());
    }
    bool is_free_now(const Vehicle& vehicle, Instant now) const {
        const auto free = availability(vehicle, given_.zone, now, given_.settings.vehicles);
        return is_free_[index_of(vehicle.id)] && free.from && *free.from <= now;
    }
    bool can_go_now(const Way& way, Instant now) const {
        return std::all_of(way.vehicles.begin(), way.vehicles.end(), [&](const VehicleId& id) {
            return is_free_now(vehicles_[index_of(id)], now);
        });
    }

    /// Asks the places of the way; who is not ready says no, and she goes elsewhere.
    bool phoned_in_vain(std::size_t number, const Way& way, OpenReferral& referral) const {
        if (!settings_.phones_ahead) {
            return false;
        }
        bool in_vain = false;
        for (const referral::Stage& stage : way.recommendation.chosen->stages) {
            const bool is_unsure = std::any_of(
                stage.readiness.begin(), stage.readiness.end(), [](const auto& readiness) {
                    return readiness.state == facilities::ReadinessState::unconfirmed;
                });
            if (is_unsure && !is_ready(number, stage)) {
                referral.calls[stage.facility] = referral::CallAnswer::refused;
                in_vain = true;
            }
        }
        return in_vain;
    }
    /// The same for one woman, one place and one round of calls, whenever it is asked.
    bool is_ready(std::size_t number, const referral::Stage& stage) const {
        if (!settings_.places_can_fail) {
            return true;
        }
        double chance = 1;
        triage::CapabilitySet counted;
        for (const facilities::Readiness& readiness : stage.readiness) {
            chance *= counted.contains(readiness.capability) ? 1 : readiness.chance;
            counted.insert(readiness.capability);
        }
        RandomSource luck = random_for(settings_.seed, Draw::readiness, number,
                                       given_.facilities.position(stage.facility) +
                                           rounds_[number] * given_.facilities.facilities().size());
        return luck.share() <= chance;
    }

    std::optional<std::size_t> does_not_start(const Carried& carried, Instant now) const {
        for (const VehicleId& id : carried.way.vehicles) {
            const std::size_t vehicle = index_of(id);
            RandomSource luck =
                random_for(settings_.seed, Draw::start, vehicle,
                           static_cast<std::uint64_t>(now.time_since_epoch().count()));
            if (luck.share() <= settings_.does_not_start_share) {
                return vehicle;
            }
        }
        return std::nullopt;
    }
    void hold(std::size_t vehicle, Instant now, Decisions& decided) {
        vehicles_[vehicle].busy = Busy{now + settings_.repair, Hold::repair};
        is_free_[vehicle] = false;
        away_[vehicle] += settings_.repair;
        decided.away.push_back({vehicle, settings_.repair, false});
    }

    void go(std::size_t call, const Carried& carried, Instant now,
            std::map<std::size_t, Instant>& away_until, Decisions& decided) {
        const std::size_t number = number_of(carried.referral);
        const Happening happened = happening(number, carried.way, now);
        const OpenReferral& referral = referrals_[number];
        SimulatedWoman& woman = year_.women[number];
        woman.is_carried = true;
        woman.was_expected_in_time = carried.way.is_in_time();
        woman.chance_in_time = carried.way.chance_in_time;
        woman.places_in_vain = happened.places_in_vain;
        if (happened.with_her) {
            woman.until_with_her = *happened.with_her - woman.at;
        }
        woman.lateness = lateness(referral, happened.needs);
        std::optional<Instant> last = woman.at;
        for (std::size_t need = 0; need < happened.needs.size(); ++need) {
            if (!referral.assessment.needs[need].available_here) {
                last = last && happened.needs[need]
                           ? std::optional{std::max(*last, *happened.needs[need])}
                           : std::nullopt;
            }
        }
        woman.is_in_time = last && woman.lateness <= 0;
        woman.critical_in_time = critical_in_time(referral.assessment, happened);
        if (last) {
            woman.until_care = *last - woman.at;
        }
        decided.missions.push_back({call, last.value_or(happened.ends) - now, woman.is_in_time});
        for (const VehicleId& id : carried.way.vehicles) {
            send(index_of(id), carried.way, happened, away_until);
        }
    }
    static bool critical_in_time(const triage::Assessment& assessment, const Happening& happened) {
        for (std::size_t index = 0; index < happened.needs.size(); ++index) {
            const triage::Need& need = assessment.needs[index];
            const auto& begins = happened.needs[index];
            if (need.critical && !need.available_here &&
                (!begins || (need.deadline && *begins > *need.deadline))) {
                return false;
            }
        }
        return true;
    }
    void send(std::size_t vehicle, const Way& way, const Happening& happened,
              std::map<std::size_t, Instant>& away_until) {
        Vehicle& sent = vehicles_[vehicle];
        const bool hands_over = way.meeting && sent.id != way.vehicles.back();
        const GeoPoint left_at =
            hands_over ? way.meeting->point : given_.facilities.facility(happened.last_place).point;
        const Instant ends = hands_over ? way.leaves.allow : happened.ends;
        Instant& until = away_until[vehicle];
        until = std::max(until, ends + sent.turnaround);
        sent.busy = Busy{until, Hold::mission};
        sent.last_position = Position{left_at, until};
        returns_at_[vehicle] = until + way_home(sent, left_at, until);
    }
    Seconds way_home(const Vehicle& vehicle, const GeoPoint& from, Instant departs) {
        Vehicle at_home = vehicle;
        at_home.last_position.reset();
        std::vector<Message> unused;
        const auto start = roads_.snap(from, vehicle.means, departs);
        const auto home = place_of(at(departs), at_home, departs, unused);
        const auto takes = start && home ? roads_.roads(vehicle.means, departs)
                                               .router
                                               ->travel_times({*start, departs}, std::array{*home},
                                                              given_.choice.search_limit)
                                               .front()
                                         : std::nullopt;
        return takes ? takes->typical : Seconds{0};
    }

    /// What truly happens on the way, with the same luck whatever way it is.
    Happening happening(std::size_t number, const Way& way, Instant now) {
        Happening happened;
        happened.needs.resize(referrals_[number].assessment.needs.size());
        const double approach_luck = random_for(settings_.seed, Draw::approach, number).normal();
        Instant leaves = way.leaves.typical;
        const Instant sets_out = way.sets_out.value_or(way.leaves.typical);
        if (way.meeting) {
            happened.with_her = way.with_her ? std::optional{way.with_her->typical} : std::nullopt;
            leaves = sets_out + drawn({way.leaves.typical - sets_out, way.leaves.allow - sets_out},
                                      approach_luck);
        } else if (way.with_her) {
            const Seconds loading = way.leaves.typical - way.with_her->typical;
            happened.with_her =
                sets_out + drawn({way.with_her->typical - sets_out, way.with_her->allow - sets_out},
                                 approach_luck);
            leaves = *happened.with_her + loading;
        }
        std::size_t legs = 0;
        if (!follow(number, way.recommendation, leaves, way.leaves.allow, legs, happened)) {
            const Vehicle* last =
                way.vehicles.empty() ? nullptr : &vehicles_[index_of(way.vehicles.back())];
            const routing::Means means =
                last == nullptr ? *referrals_[number].own_transport : last->means;
            go_onward(number, means, legs, happened);
        }
        happened.ends = std::max(happened.ends, now);
        return happened;
    }
    /// From stage to stage; stops at a place that is not ready.
    /// @param planned when she leaves, as the recommendation was told
    /// @return whether every place was ready
    bool follow(std::size_t number, const referral::Recommendation& recommendation, Instant leaves,
                Instant planned, std::size_t& legs, Happening& happened) {
        Instant later_leaves = planned;
        for (const referral::Stage& stage : recommendation.chosen->stages) {
            const double luck = random_for(settings_.seed, Draw::onward, number, legs++).normal();
            // The stay at a first stop is planned: from what was planned to leaving again.
            const Seconds stays = stage.arrival.typical - stage.travel_time.typical - later_leaves;
            leaves += std::max(stays, Seconds{0});
            const Instant arrives = leaves + drawn(stage.travel_time, luck);
            happened.last_place = stage.facility;
            happened.ends = arrives + given_.choice.handover;
            if (!is_ready(number, stage)) {
                ++happened.places_in_vain;
                return false;
            }
            const bool waits_for_the_place =
                stage.care_begins.typical > stage.arrival.typical + given_.choice.handover;
            const Instant begins = waits_for_the_place
                                       ? std::max(happened.ends, stage.care_begins.typical)
                                       : happened.ends;
            for (const std::size_t need : stage.needs) {
                happened.needs[need] = begins;
            }
            leaves = arrives;
            later_leaves = stage.arrival.typical;
        }
        return true;
    }
    /// From a place that was not ready, with the same vehicle.
    void go_onward(std::size_t number, routing::Means means, std::size_t& legs,
                   Happening& happened) {
        OpenReferral onward = referrals_[number];
        onward.own_transport = means;
        onward.own_ready_in = Seconds{0};
        constexpr std::size_t most_in_vain = 4;
        while (happened.places_in_vain < most_in_vain) {
            onward.calls[happened.last_place] = referral::CallAnswer::refused;
            onward.at_facility = happened.last_place;
            leave_out_what_is_met(onward, happened);
            const Instant now = happened.ends;
            Way way = own_way(at(now), onward, now);
            while (way.is_possible() && settings_.phones_ahead &&
                   phoned_in_vain(number, way, onward)) {
                way = own_way(at(now), onward, now);
            }
            if (!way.is_possible() ||
                follow(number, way.recommendation, now, now, legs, happened)) {
                return;
            }
        }
    }
    static void leave_out_what_is_met(OpenReferral& referral, const Happening& happened) {
        for (std::size_t need = 0; need < happened.needs.size(); ++need) {
            auto& one = referral.assessment.needs[need];
            one.available_here = one.available_here || happened.needs[need].has_value();
        }
    }

    /// When something could be possible that is not now.
    Instant next_look(const std::vector<std::size_t>& open, std::span<const SimulatedCall> waiting,
                      Instant now) const {
        Instant next = waiting[open.front()].at + settings_.given_up_after + 1s;
        for (const Vehicle& vehicle : vehicles_) {
            const auto free = availability(vehicle, given_.zone, now, given_.settings.vehicles);
            if (free.from && *free.from > now) {
                next = std::min(next, *free.from);
            }
        }
        return std::max(std::min(next, now + look_again), now + 1s);
    }

    const DispatchSituation& given_;
    RememberedRoads roads_;
    /// Also what depends on the departure, for one moment.
    std::optional<RememberedRoads> roads_now_;
    Instant roads_are_of_{};
    std::span<const BirthPlace> places_;
    std::span<const Complication> complications_;
    const YearSettings& settings_;
    std::vector<Vehicle> vehicles_;
    std::vector<Instant> returns_at_;
    std::vector<Seconds> away_;
    std::vector<bool> is_free_;
    std::vector<OpenReferral> referrals_;
    std::vector<std::optional<Instant>> all_refused_at_;
    std::vector<std::size_t> rounds_;
    SimulatedYear year_;
};

void check(std::span<const Complication> complications, const YearSettings& settings) {
    if (settings.until <= settings.from) {
        throw InputError("the simulated time ends before it begins");
    }
    for (const double share : {settings.complications_per_birth, settings.own_transport_share,
                               settings.does_not_start_share}) {
        if (!(share >= 0 && share <= 1)) {
            throw InputError("a share lies outside 0 to 1");
        }
    }
    if (complications.empty()) {
        throw InputError("no complication is given");
    }
}

template <typename Value>
Estimate95 estimate(const std::vector<SimulatedWoman>& women, const Value& value) {
    std::vector<double> values;
    values.reserve(women.size());
    for (const SimulatedWoman& woman : women) {
        values.push_back(value(woman));
    }
    return batch_means(values);
}

std::optional<Estimate95> minutes_of(const std::vector<SimulatedWoman>& women,
                                     std::optional<Seconds> SimulatedWoman::*span) {
    constexpr double per_minute = 60;
    std::vector<double> values;
    for (const SimulatedWoman& woman : women) {
        if (woman.*span) {
            values.push_back(static_cast<double>((woman.*span)->count()) / per_minute);
        }
    }
    constexpr std::size_t fewest = 20;
    return values.size() < fewest ? std::nullopt : std::optional{batch_means(values)};
}

}  // namespace

std::string_view to_name(SendingPolicy policy) {
    return policy_names.at(static_cast<std::size_t>(policy));
}

std::optional<SendingPolicy> find_sending_policy(std::string_view name) {
    const auto found = std::find(policy_names.begin(), policy_names.end(), name);
    return found == policy_names.end()
               ? std::nullopt
               : std::optional{static_cast<SendingPolicy>(found - policy_names.begin())};
}

SimulatedYear simulate_year(const DispatchSituation& situation,
                            std::span<const BirthPlace> birth_places,
                            std::span<const Complication> complications,
                            std::span<const Vehicle> vehicles, const YearSettings& settings,
                            const Progress& progress) {
    check(complications, settings);
    return Year(situation, birth_places, complications, vehicles, settings).run(progress);
}

YearFigures figures_of(const SimulatedYear& year) {
    YearFigures figures;
    figures.share_in_time =
        estimate(year.women, [](const SimulatedWoman& woman) { return woman.is_in_time ? 1 : 0; });
    figures.critical_in_time = estimate(
        year.women, [](const SimulatedWoman& woman) { return woman.critical_in_time ? 1 : 0; });
    figures.lateness =
        estimate(year.women, [](const SimulatedWoman& woman) { return woman.lateness; });
    figures.expected_share_in_time =
        estimate(year.women, [](const SimulatedWoman& woman) { return woman.chance_in_time; });
    figures.care_minutes = minutes_of(year.women, &SimulatedWoman::until_care);
    figures.with_her_minutes = minutes_of(year.women, &SimulatedWoman::until_with_her);
    for (const SimulatedWoman& woman : year.women) {
        figures.never_carried += woman.is_carried ? 0 : 1;
        figures.places_in_vain += woman.places_in_vain;
    }
    return figures;
}

YearDifference difference_of(const SimulatedYear& first, const SimulatedYear& second) {
    std::vector<double> in_time;
    std::vector<double> lateness;
    if (first.women.size() != second.women.size()) {
        throw InputError("the two years are not of the same women");
    }
    for (std::size_t index = 0; index < first.women.size(); ++index) {
        const SimulatedWoman& one = first.women[index];
        const SimulatedWoman& other = second.women[index];
        if (one.at != other.at || one.place != other.place) {
            throw InputError("the two years are not of the same women");
        }
        in_time.push_back((other.is_in_time ? 1 : 0) - (one.is_in_time ? 1 : 0));
        lateness.push_back(other.lateness - one.lateness);
    }
    return {batch_means(in_time), batch_means(lateness)};
}

}  // namespace waybourne::dispatch
