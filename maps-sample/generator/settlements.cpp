#include "maps-sample/generator/settlements.hpp"

#include <algorithm>
#include <array>
#include <string_view>

#include "maps-sample/generator/waters.hpp"

namespace waybourne::sample {

namespace {

constexpr double villages_apart_km = 3.0;
constexpr double from_the_bank_km = 0.5;
constexpr double from_the_edge_km = 2.0;

constexpr std::array<std::string_view, 22> beginnings = {
    "Vri",  "Tlo", "Zhe",   "Mvu",  "Sorva", "Quo", "Dre",  "Ulli",  "Brezho", "Ano",  "Gwi",
    "Thre", "Yo",  "Kezhe", "Ruvi", "Ethe",  "Pli", "Ozha", "Shuva", "Naxi",   "Ivre", "Fenna"};
constexpr std::array<std::string_view, 16> middles = {"la",  "mu",  "re",  "vo", "zhi", "na",
                                                      "lle", "tho", "qui", "ra", "shu", "ve",
                                                      "mmo", "ddi", "xa",  "ru"};
constexpr std::array<std::string_view, 14> endings = {"vreth", "mvo", "nnu",   "zhoth", "lish",
                                                      "ruvo",  "th",  "qua",   "lluv",  "mezh",
                                                      "vanu",  "sse", "dravi", "tlo"};

bool is_taken(const std::vector<Settlement>& taken, const std::string& name) {
    return std::any_of(taken.begin(), taken.end(),
                       [&](const Settlement& other) { return other.name == name; });
}

double distance_to_nearest(const std::vector<Settlement>& settlements, Point place) {
    double least = sheet_width_km;
    for (const Settlement& other : settlements) {
        least = std::min(least, distance(other.place, place));
    }
    return least;
}

/// The hills in the north-west are thinly peopled.
bool is_hilly(Point place) {
    return place.x < 32 && place.y > 50;
}

}  // namespace

const std::vector<Settlement>& named_settlements() {
    static const std::vector<Settlement> named = {
        {"Sorvrith", {46, 32}, "town", 31200},      {"Venzhoth", {39, 65}, "town", 14300},
        {"Pellumvo", {20, 14}, "town", 11600},      {"Druvaneth", {70, 34}, "town", 7900},
        {"Ebruzhai", {76, 66}, "town", 6400},       {"Quovreth", {70, 10}, "town", 5200},
        {"Nolluvish", {14, 34}, "town", 4700},      {"Issolvu", {28, 20}, "village", 2600},
        {"Ammovreth", {20, 62}, "village", 2300},   {"Kezhiru", {15, 54}, "village", 1700},
        {"Luzhenni", {27, 8}, "village", 2200},     {"Tamvrelo", {58, 29}, "village", 1900},
        {"Razhimol", {61, 56}, "village", 2100},    {"Shuvemra", {82, 48}, "village", 1800},
        {"Mirruzhe", {34, 49}, "village", 2000},    {"Zhelappu", {8, 66}, "village", 900},
        {"Ovritha", {9, 24}, "village", 1300},      {"Gremvolo", {84, 20}, "village", 1100},
        {"Uvrissa", {56.5, 10.5}, "village", 1000}, {"Thezhanna", {63, 75}, "village", 1200},
    };
    return named;
}

std::string invent_name(Random& random, const std::vector<Settlement>& taken) {
    while (true) {
        std::string name{beginnings[random.below(beginnings.size())]};
        if (random.below(3) != 0) {
            name += middles[random.below(middles.size())];
        }
        name += endings[random.below(endings.size())];
        if (!is_taken(taken, name)) {
            return name;
        }
    }
}

std::vector<Settlement> scatter_settlements(Random& random, std::size_t count) {
    std::vector<Settlement> settlements = named_settlements();
    while (settlements.size() < count) {
        const Point place{random.between(from_the_edge_km, sheet_width_km - from_the_edge_km),
                          random.between(from_the_edge_km, sheet_height_km - from_the_edge_km)};
        const double nearest = distance_to_nearest(settlements, place);
        const bool has_room = nearest >= villages_apart_km &&
                              distance_to_bank(place) >= from_the_bank_km &&
                              (!is_hilly(place) || random.below(3) == 0);
        if (!has_room) {
            continue;
        }
        const int population = 320 + static_cast<int>(random.below(900) + random.below(900));
        settlements.push_back({invent_name(random, settlements), place, "village", population});
    }
    return settlements;
}

}  // namespace waybourne::sample
