#pragma once
/// Tables of outside values in tests/sources, for the tests of this room.

#include <doctest/doctest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

namespace waybourne::facilities {

/// A table, refused when it does not say where it comes from.
inline nlohmann::json load_table(const std::string& name) {
    const std::string path = std::string(WAYBOURNE_SOURCE_DIR) + "/tests/sources/" + name;
    std::ifstream file(path);
    REQUIRE_MESSAGE(file, path);
    auto table = nlohmann::json::parse(file);
    for (const char* needed : {"source", "retrieved", "licence"}) {
        REQUIRE_MESSAGE(table.contains(needed), name, " lacks ", needed);
        REQUIRE(!table[needed].get<std::string>().empty());
    }
    return table;
}

}  // namespace waybourne::facilities
