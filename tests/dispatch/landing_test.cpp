#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "dispatch/transport_plan.hpp"
#include "tests/dispatch/dispatch_district.hpp"

// Boats, and the vehicles that meet them at their landings.

namespace waybourne::dispatch {

namespace {

const CapabilitySet theatre{Capability::operative_delivery};

/// The clinic C on an island with a landing; over the water the landing L, from which a road leads
/// to the hospital H, and a landing M behind the hospital.
DrawnDistrict island() {
    DrawnDistrict district(tests::ascii_district("C    L----D---------H---M"));
    district.place('C', {}).place('L', {}).place('D', {}).place('H', theatre).place('M', {});
    district.boat_way('C', 'L', 10min, 14min);
    return district;
}

const Way* find_way(const std::vector<Way>& ways, const std::vector<VehicleId>& vehicles) {
    const auto found = std::find_if(ways.begin(), ways.end(), [&](const Way& way) {
        return way.vehicles == vehicles && way.is_possible();
    });
    return found == ways.end() ? nullptr : &*found;
}

}  // namespace

TEST_CASE("A boat brings her over the water to a car that waits at the landing") {
    auto district = island();
    const auto woman = district.woman_at('C', {critical_need(theatre, 60min)});
    const auto ways = district.ask(woman, {DrawnDistrict::vehicle("boat", 'C', Means::boat, 3min),
                                           DrawnDistrict::vehicle("car", 'D', Means::car, 2min)});
    const Way& way = ways.front();
    CHECK(way.kind == WayKind::rendezvous);
    CHECK(way.vehicles == std::vector{VehicleId{"boat"}, VehicleId{"car"}});
    REQUIRE(way.meeting.has_value());
    CHECK(way.meeting->point == district.woman_at('L', {}).at);
    CHECK(way.meeting->landing == "L");
    // 3 minutes to mobilise and 10 over the water; the car is there after 2 + 5
    CHECK(way.meeting->first_arrives == referral::Expected{ten + 13min, ten + 13min});
    CHECK(way.meeting->second_arrives == referral::Expected{ten + 7min, ten + 7min});
    // 5 minutes to change, 5 to D and 10 to H
    CHECK(way.care_begins.allow == ten + 33min);
    CHECK(way.is_in_time());
}

TEST_CASE("A boat from elsewhere fetches her first, up the river as slowly as up the river is") {
    auto district = island();
    const auto woman = district.woman_at('C', {critical_need(theatre, 60min)});
    const auto ways = district.ask(woman, {DrawnDistrict::vehicle("boat", 'L', Means::boat, 3min),
                                           DrawnDistrict::vehicle("car", 'D', Means::car, 2min)});
    // 3 + 14 to her, 10 back, 5 to change, 15 on the road
    CHECK(ways.front().vehicles == std::vector{VehicleId{"boat"}, VehicleId{"car"}});
    CHECK(ways.front().with_her->allow == ten + 17min);
    CHECK(ways.front().care_begins.allow == ten + 47min);
}

TEST_CASE("Where the hospital has a landing, the boat needs nobody") {
    DrawnDistrict district(tests::ascii_district("C    H----D"));
    district.place('C', {}).place('H', theatre).place('D', {});
    district.boat_way('C', 'H', 20min, 20min);
    const auto woman = district.woman_at('C', {critical_need(theatre, 60min)});
    const auto ways = district.ask(woman, {DrawnDistrict::vehicle("boat", 'C', Means::boat, 3min),
                                           DrawnDistrict::vehicle("car", 'D', Means::car, 0min)});
    CHECK(ways.front().kind == WayKind::clinic_vehicle);
    CHECK(ways.front().care_begins.allow == ten + 23min);
    const auto& legs = ways.front().recommendation.chosen->stages.front().route.legs;
    REQUIRE(legs.size() == 1);
    CHECK(legs.front().means == Means::boat);
    CHECK_FALSE(legs.front().is_assumed);
    CHECK_FALSE(ways.front().takes_a_ferry);
}

TEST_CASE("Her own transport brings her to a boat that takes over") {
    DrawnDistrict district(tests::ascii_district("C--L    H"));
    district.place('C', {}).place('L', {}).place('H', theatre);
    district.boat_way('L', 'H', 15min, 15min);
    auto woman = district.woman_at('C', {critical_need(theatre, 60min)});
    woman.own_transport = Means::motorcycle;
    woman.own_ready_in = 10min;
    const auto ways = district.ask(woman, {DrawnDistrict::vehicle("boat", 'H', Means::boat, 0min)});
    // the boat is there after 15, she after 10 + 3; 5 to change, 15 over the water
    REQUIRE(ways.front().is_possible());
    CHECK(ways.front().kind == WayKind::rendezvous);
    CHECK(ways.front().vehicles == std::vector{VehicleId{"boat"}});
    CHECK(ways.front().care_begins.allow == ten + 35min);
}

TEST_CASE("A boat waits for its hours, and does not go without them") {
    DrawnDistrict district(tests::ascii_district("C    H"));
    district.place('C', {}).place('H', theatre);
    district.boat_way('C', 'H', 20min, 20min,
                      routing::parse_timetable("11:00-12:00", "UTC").timetable);
    const auto woman = district.woman_at('C', {critical_need(theatre, 3h)});
    const auto ways = district.ask(woman, {DrawnDistrict::vehicle("boat", 'C', Means::boat, 0min)});
    CHECK(ways.front().care_begins.allow == ten + 80min);
    const auto& leg = ways.front().recommendation.chosen->stages.front().route.legs.front();
    CHECK(leg.wait == 60min);
}

TEST_CASE("Without a landing nearby a boat cannot come, and that is said") {
    auto district = island();
    const auto woman = district.woman_at('D', {critical_need(theatre, 60min)});
    const auto ways = district.ask(woman, {DrawnDistrict::vehicle("boat", 'C', Means::boat, 0min)});
    REQUIRE(ways.size() == 1);
    CHECK_FALSE(ways.front().is_possible());
    CHECK(mentions(ways.front().against, "dispatch.no_road_to_her"));
}

TEST_CASE("One plan for all sends the boat for the woman on the island, and a car to its landing") {
    auto district = island();
    const auto woman = district.woman_at('C', {critical_need(theatre, 60min)});
    const std::vector women{woman};
    const std::vector vehicles{DrawnDistrict::vehicle("boat", 'C', Means::boat, 3min),
                               DrawnDistrict::vehicle("car", 'D', Means::car, 2min)};
    PlanRequest request{.referrals = women, .vehicles = vehicles};
    const TransportPlan plan = plan_transport(district.situation(), request);
    REQUIRE(plan.carried.size() == 1);
    const Way& way = plan.carried.front().way;
    CHECK(way.vehicles == std::vector{VehicleId{"boat"}, VehicleId{"car"}});
    CHECK(way.care_begins.allow == ten + 33min);
    // the best of all ways that are compared
    CHECK(district.ask(woman, vehicles).front().care_begins == way.care_begins);
    SUBCASE("once that is promised, it stays") {
        request.promises = {{.referral = woman.id, .vehicles = way.vehicles}};
        const TransportPlan again = plan_transport(district.situation(), request);
        CHECK(again.carried.front().way.vehicles == way.vehicles);
        CHECK(again.changed.empty());
    }
}

namespace {

/// Minutes of the shortest ways between a few letters, by trying every letter between (Floyd,
/// Communications of the ACM 5, 1962, 345; from memory).
class Minutes {
public:
    explicit Minutes(std::string letters) : letters_(std::move(letters)) {
        between_.assign(letters_.size(), std::vector<std::optional<int>>(letters_.size()));
        for (std::size_t i = 0; i < letters_.size(); ++i) {
            between_[i][i] = 0;
        }
    }
    void add(char from, char to, int minutes) {
        auto& known = between_[index(from)][index(to)];
        known = known ? std::min(*known, minutes) : minutes;
    }
    void close() {
        const std::size_t count = letters_.size();
        for (std::size_t by = 0; by < count; ++by) {
            for (std::size_t from = 0; from < count; ++from) {
                for (std::size_t to = 0; to < count; ++to) {
                    if (between_[from][by] && between_[by][to]) {
                        add(letters_[from], letters_[to], *between_[from][by] + *between_[by][to]);
                    }
                }
            }
        }
    }
    std::optional<int> get(char from, char to) const { return between_[index(from)][index(to)]; }

private:
    std::size_t index(char letter) const { return letters_.find(letter); }
    std::string letters_;
    std::vector<std::vector<std::optional<int>>> between_;
};

const std::string letters = "ABCDEFGH";

/// Two banks without a bridge, each with a road, and boats between letters of any bank.
class RandomRiver {
public:
    explicit RandomRiver(std::mt19937& random) : random_(random) {
        add_places();
        add_roads();
        for (int way = 0; way < 4; ++way) {
            add_boat_way(any_of(letters), any_of(letters));
        }
        water_.close();
    }

    DrawnDistrict& district() { return district_; }
    /// Empty where no boat goes.
    const std::string& landings() const { return landings_; }
    char any_of(const std::string& some) {
        return some[static_cast<std::size_t>(below(static_cast<int>(some.size())))];
    }

    /// Minutes until care begins by boat and car, over all landings and hospitals but the one where
    /// she is.
    std::optional<int> best(char her, char boat_base, char car_base) const {
        std::optional<int> least;
        const auto to_her = boat_base == her ? 0 : water_.get(boat_base, her);
        for (const char landing : landings_) {
            const auto over = water_.get(her, landing);
            const auto car = road_.get(car_base, landing);
            const auto onward = to_hospital(landing, her);
            if (to_her && over && car && onward) {
                const int care = std::max(*to_her + *over, *car) + 5 + *onward;
                least = std::min(least.value_or(care), care);
            }
        }
        return least;
    }

private:
    int below(int count) { return static_cast<int>(random_() % static_cast<unsigned>(count)); }

    void add_places() {
        for (const char letter : letters) {
            const bool is_hospital = letter == 'H' || below(4) == 0;
            district_.place(letter, is_hospital ? theatre : CapabilitySet{});
            if (is_hospital) {
                hospitals_ += letter;
            }
        }
    }
    /// A column is a minute.
    void add_roads() {
        const std::map<char, int> column{{'A', 0}, {'B', 4}, {'C', 10}, {'D', 13},
                                         {'E', 0}, {'F', 3}, {'G', 9},  {'H', 13}};
        for (const auto& [from, start] : column) {
            for (const auto& [to, end] : column) {
                if ((from < 'E') == (to < 'E')) {
                    road_.add(from, to, std::abs(start - end));
                }
            }
        }
    }
    void add_boat_way(char from, char to) {
        if (from == to) {
            return;
        }
        const int there = 1 + below(20);
        const int back = 1 + below(20);
        district_.boat_way(from, to, std::chrono::minutes{there}, std::chrono::minutes{back});
        water_.add(from, to, there);
        water_.add(to, from, back);
        landings_ += {from, to};
    }
    std::optional<int> to_hospital(char from, char her) const {
        std::optional<int> least;
        for (const char hospital : hospitals_) {
            const auto takes = hospital == her ? std::nullopt : road_.get(from, hospital);
            if (takes) {
                least = std::min(least.value_or(*takes), *takes);
            }
        }
        return least;
    }

    std::mt19937& random_;
    DrawnDistrict district_{
        tests::ascii_district("A---B-----C--D\n"
                              "              \n"
                              "E--F-----G---H")};
    std::string hospitals_;
    std::string landings_;
    Minutes road_{letters};
    Minutes water_{letters};
};

}  // namespace

TEST_CASE("On thousands of random rivers the landing is the best of all landings") {
    constexpr unsigned seed = 20261201;
    CAPTURE(seed);
    std::mt19937 random(seed);
    int met = 0;
    for (int round = 0; round < 2000; ++round) {
        CAPTURE(round);
        RandomRiver river(random);
        if (river.landings().empty()) {
            continue;
        }
        const char her = river.any_of(river.landings());
        const char boat_base = river.any_of(river.landings());
        const char car_base = river.any_of(letters);
        DrawnDistrict& district = river.district();
        district.choice.time_tolerance = 0s;
        district.choice.lateness_tolerance = 0;
        district.settings.rendezvous_saves = -48h;  // every one is offered
        const auto ways = district.ask(district.woman_at(her, {critical_need(theatre, 30min)}),
                                       {DrawnDistrict::vehicle("boat", boat_base, Means::boat),
                                        DrawnDistrict::vehicle("car", car_base)});
        const Way* const way = find_way(ways, {VehicleId{"boat"}, VehicleId{"car"}});
        const auto best = river.best(her, boat_base, car_base);
        REQUIRE((way != nullptr) == best.has_value());
        if (way != nullptr) {
            CHECK(way->care_begins.allow - ten == std::chrono::minutes{*best});
            ++met;
        }
    }
    CHECK(met > 800);
}

}  // namespace waybourne::dispatch
