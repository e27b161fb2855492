#pragma once
/// Plain text that keeps to the width and length of a page.

#include <string>
#include <string_view>
#include <vector>

namespace waybourne::referral {

/// Characters as a reader counts them: UTF-8 code points.
std::size_t columns_of(std::string_view text);

/// Broken at spaces so that no line is wider than `columns`; lines after the first start with two
/// spaces. A word wider than a line is cut.
std::vector<std::string> wrapped(std::string_view text, std::size_t columns);

/// `label ______`, as wide as given: a line to be filled in by hand.
std::string to_fill_in(const std::string& label, std::size_t columns);

/// The parts joined by `; `, empty ones left out.
std::string listed(const std::vector<std::string>& parts);

/// A heading and its lines, never more than its share of the page.
class Section {
public:
    /// @param most lines, the heading included
    Section(std::string_view heading, std::size_t columns, std::size_t most);

    /// Adds a paragraph; an empty one is left out.
    void add(std::string_view paragraph);
    /// The lines; where there are too many, the last one is what `more` makes of the number left
    /// out.
    template <typename More>
    std::vector<std::string> lines(const More& more) const {
        std::vector<std::string> shown = lines_;
        if (shown.size() > most_) {
            shown.resize(most_ - 1);
            shown.push_back("  " + more(lines_.size() - shown.size()));
        }
        return shown;
    }

private:
    std::size_t columns_;
    std::size_t most_;
    std::vector<std::string> lines_;
};

}  // namespace waybourne::referral
