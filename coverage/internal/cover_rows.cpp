#include "coverage/internal/cover_rows.hpp"

#include <algorithm>
#include <bit>

namespace waybourne::coverage {

std::size_t BitSet::count() const {
    std::size_t sum = 0;
    for (const std::uint64_t word : words_) {
        sum += static_cast<std::size_t>(std::popcount(word));
    }
    return sum;
}

std::size_t BitSet::count_in_both(const BitSet& other) const {
    std::size_t sum = 0;
    for (std::size_t i = 0; i < words_.size(); ++i) {
        sum += static_cast<std::size_t>(std::popcount(words_[i] & other.words_[i]));
    }
    return sum;
}

bool BitSet::meets(const BitSet& other) const {
    for (std::size_t i = 0; i < words_.size(); ++i) {
        if ((words_[i] & other.words_[i]) != 0) {
            return true;
        }
    }
    return false;
}

bool BitSet::is_within(const BitSet& other) const {
    for (std::size_t i = 0; i < words_.size(); ++i) {
        if ((words_[i] & ~other.words_[i]) != 0) {
            return false;
        }
    }
    return true;
}

void BitSet::take_away(const BitSet& other) {
    for (std::size_t i = 0; i < words_.size(); ++i) {
        words_[i] &= ~other.words_[i];
    }
}

void BitSet::add(const BitSet& other) {
    for (std::size_t i = 0; i < words_.size(); ++i) {
        words_[i] |= other.words_[i];
    }
}

std::vector<std::uint32_t> BitSet::members() const {
    std::vector<std::uint32_t> all;
    for (std::size_t i = 0; i < words_.size(); ++i) {
        for (std::uint64_t word = words_[i]; word != 0; word &= word - 1) {
            all.push_back(static_cast<std::uint32_t>(
                i * word_bits + static_cast<std::size_t>(std::countr_zero(word))));
        }
    }
    return all;
}

CoverRows without_idle_rows(CoverRows rows) {
    std::stable_sort(rows.begin(), rows.end(),
                     [](const BitSet& a, const BitSet& b) { return a.count() < b.count(); });
    CoverRows kept;
    for (BitSet& row : rows) {
        if (std::none_of(kept.begin(), kept.end(),
                         [&](const BitSet& other) { return other.is_within(row); })) {
            kept.push_back(std::move(row));
        }
    }
    return kept;
}

std::size_t rows_apart(const CoverRows& rows) {
    if (rows.empty()) {
        return 0;
    }
    std::size_t apart = 1;
    BitSet used = rows.front();
    for (const BitSet& row : rows) {
        if (!row.meets(used)) {
            used.add(row);
            ++apart;
        }
    }
    return apart;
}

std::vector<std::uint32_t> greedy_cover(const CoverRows& rows, std::size_t options) {
    std::vector<BitSet> meets(options, BitSet(rows.size()));
    BitSet left(rows.size());
    for (std::size_t row = 0; row < rows.size(); ++row) {
        left.insert(row);
        for (const std::uint32_t option : rows[row].members()) {
            meets[option].insert(row);
        }
    }
    std::vector<std::uint32_t> chosen;
    while (true) {
        std::size_t most = 0;
        std::uint32_t best = 0;
        for (std::uint32_t option = 0; option < options; ++option) {
            const std::size_t count = meets[option].count_in_both(left);
            if (count > most) {
                most = count;
                best = option;
            }
        }
        if (most == 0) {
            return chosen;
        }
        chosen.push_back(best);
        left.take_away(meets[best]);
    }
}

}  // namespace waybourne::coverage
