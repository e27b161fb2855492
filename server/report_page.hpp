#pragma once
/// A printed page while it is being written: headings, sentences, tables and pictures.

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "server/words.hpp"

namespace waybourne::server {

/// Safe inside an element and inside an attribute of HTML.
std::string escaped(std::string_view text);
/// `12 %`, or a dash where it is not known.
std::string whole_percent(const std::optional<double>& share);
/// Without decimals.
std::string whole(double number);

/// Everything that goes in as text is escaped. Texts are those under `server.report.`.
class ReportPage {
public:
    using Values = std::vector<std::pair<std::string, std::string>>;
    using Cells = std::vector<std::string>;

    /// @param words must outlive it
    explicit ReportPage(const Words& words) : words_(words) {}

    std::string words(const std::string& id, const Values& values = {}) const;
    std::string span(Seconds span) const { return words_.span(span); }
    void heading(const std::string& id);
    void paragraph(const std::string& text, const char* kind = "");
    /// Columns from this one on are numbers.
    void table(const Cells& headings, const std::vector<Cells>& rows, std::size_t numbers_from);
    void figure(const std::string& svg, const std::string& caption);
    /// Already safe.
    void raw(const std::string& html) { out_ += html; }
    std::string take() { return std::move(out_); }

private:
    const Words& words_;
    std::string out_;
};

}  // namespace waybourne::server
