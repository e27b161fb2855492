#include "vocabulary/nearest_name.hpp"

#include <algorithm>
#include <vector>

namespace waybourne {

std::size_t edit_distance(std::string_view a, std::string_view b) {
    std::vector<std::vector<std::size_t>> table(a.size() + 1,
                                                std::vector<std::size_t>(b.size() + 1));
    for (std::size_t i = 0; i <= a.size(); ++i) {
        for (std::size_t j = 0; j <= b.size(); ++j) {
            if (i == 0 || j == 0) {
                table[i][j] = i + j;
                continue;
            }
            const std::size_t substituted = table[i - 1][j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
            table[i][j] = std::min({table[i - 1][j] + 1, table[i][j - 1] + 1, substituted});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                table[i][j] = std::min(table[i][j], table[i - 2][j - 2] + 1);
            }
        }
    }
    return table[a.size()][b.size()];
}

std::optional<std::string> nearest_name(std::string_view given,
                                        std::span<const std::string> known) {
    constexpr std::size_t longest = 64;  // what is longer is no slip of the finger
    std::optional<std::string> best;
    std::size_t best_distance = 0;
    if (given.size() > longest) {
        return best;
    }
    for (const std::string& name : known) {
        if (name.size() > longest) {
            continue;
        }
        const std::size_t distance = edit_distance(given, name);
        if (distance * 3 <= std::max(given.size(), name.size()) &&
            (!best || distance < best_distance)) {
            best = name;
            best_distance = distance;
        }
    }
    return best;
}

}  // namespace waybourne
