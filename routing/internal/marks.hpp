#pragma once
/// Many truth values, one bit each, that can be asked for the next true one.

#include <algorithm>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace waybourne::routing {

/// The first mark from `begin` on; `end` if there is none before it. Mark i is bit i % 64 of word
/// i / 64. O(distance / 64).
inline std::uint32_t next_mark(std::span<const std::uint64_t> words, std::uint32_t begin,
                               std::uint32_t end) {
    if (begin >= end) {
        return end;
    }
    std::size_t word = begin / 64;
    std::uint64_t rest = words[word] & ~std::uint64_t{0} << begin % 64;
    while (rest == 0) {
        if (++word * 64 >= end) {
            return end;
        }
        rest = words[word];
    }
    const auto found = word * 64 + static_cast<std::size_t>(std::countr_zero(rest));
    return static_cast<std::uint32_t>(std::min<std::size_t>(found, end));
}

/// None at first.
class Marks {
public:
    explicit Marks(std::uint32_t count) : words_(count / 64 + 1) {}

    void set(std::uint32_t i) { words_[i / 64] |= std::uint64_t{1} << i % 64; }
    std::uint32_t next(std::uint32_t begin, std::uint32_t end) const {
        return next_mark(words_, begin, end);
    }
    std::vector<std::uint64_t> take() { return std::move(words_); }

private:
    std::vector<std::uint64_t> words_;
};

}  // namespace waybourne::routing
