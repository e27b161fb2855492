#pragma once
/// Whether a few options serve every settlement: rows of a set cover, made small before anybody
/// solves them.

#include <cstdint>
#include <vector>

namespace waybourne::coverage {

/// Some of so many, as bits.
class BitSet {
public:
    explicit BitSet(std::size_t size) : words_((size + word_bits - 1) / word_bits) {}
    void insert(std::size_t one) { words_[one / word_bits] |= std::uint64_t{1} << one % word_bits; }
    bool has(std::size_t one) const {
        return (words_[one / word_bits] >> one % word_bits & 1U) != 0;
    }
    std::size_t count() const;
    std::size_t count_in_both(const BitSet& other) const;
    bool meets(const BitSet& other) const;
    bool is_within(const BitSet& other) const;
    void take_away(const BitSet& other);
    void add(const BitSet& other);
    /// In ascending order.
    std::vector<std::uint32_t> members() const;
    bool operator==(const BitSet&) const = default;

private:
    static constexpr std::size_t word_bits = 64;
    std::vector<std::uint64_t> words_;
};

/// Each row is the options of which one at least must be taken.
using CoverRows = std::vector<BitSet>;

/// The same demands with fewer rows: one that asks no more than another is left out (exact: whoever
/// meets the other meets it too). In ascending order of how many options they have. O(rows × rows
/// kept × options ÷ 64).
CoverRows without_idle_rows(CoverRows rows);

/// Rows of which no two share an option, so that at least as many options are needed as there are
/// such rows: a bound from below. The rows with the fewest options first.
std::size_t rows_apart(const CoverRows& rows);

/// The option that meets most of what is left, each time (from memory: Chvatal, Mathematics of
/// Operations Research 4, 1979, 233-235). Ties to the lower number. @return in the order chosen
/// @param options how many there are
std::vector<std::uint32_t> greedy_cover(const CoverRows& rows, std::size_t options);

}  // namespace waybourne::coverage
