#pragma once
/// Where things are on the sheet: the towns and villages that the main roads join, and their
/// junctions. settlements.cpp has the same places for those that are settlements.

#include "maps-sample/generator/plane.hpp"

namespace waybourne::sample::places {

inline constexpr Point sorvrith{46, 32};
inline constexpr Point venzhoth{39, 65};
inline constexpr Point pellumvo{20, 14};
inline constexpr Point druvaneth{70, 34};
inline constexpr Point ebruzhai{76, 66};
inline constexpr Point quovreth{70, 10};
inline constexpr Point nolluvish{14, 34};
inline constexpr Point issolvu{28, 20};
inline constexpr Point ammovreth{20, 62};
inline constexpr Point kezhiru{15, 54};
inline constexpr Point luzhenni{27, 8};
inline constexpr Point tamvrelo{58, 29};
inline constexpr Point razhimol{61, 56};
inline constexpr Point shuvemra{82, 48};
inline constexpr Point mirruzhe{34, 49};
inline constexpr Point zhelappu{8, 66};
inline constexpr Point ovritha{9, 24};
inline constexpr Point gremvolo{84, 20};
inline constexpr Point uvrissa{56.5, 10.5};
inline constexpr Point thezhanna{63, 75};
inline constexpr Point west_junction{16, 25};
inline constexpr Point middle_junction{30, 26.5};
inline constexpr Point valley_junction{44, 39};
inline constexpr Point north_bank{42, 48};
inline constexpr Point ford_junction{18, 39};
inline constexpr Point hill_junction{15, 50};
inline constexpr Point south_junction{44, 14};
inline constexpr Point east_junction{55, 66.8};

}  // namespace waybourne::sample::places
