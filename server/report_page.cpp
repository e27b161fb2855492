#include "server/report_page.hpp"

#include <fmt/format.h>

namespace waybourne::server {

std::string escaped(std::string_view text) {
    std::string all;
    for (const char c : text) {
        switch (c) {
            case '&':
                all += "&amp;";
                break;
            case '<':
                all += "&lt;";
                break;
            case '>':
                all += "&gt;";
                break;
            case '"':
                all += "&quot;";
                break;
            default:
                all += c;
        }
    }
    return all;
}

std::string whole_percent(const std::optional<double>& share) {
    return share ? fmt::format("{:.0f} %", *share * 100) : "–";
}

std::string whole(double number) {
    return fmt::format("{:.0f}", number);
}

std::string ReportPage::words(const std::string& id, const Values& values) const {
    return words_.text(Message{"server.report." + id, values});
}

void ReportPage::heading(const std::string& id) {
    out_ += "<h2>" + escaped(words(id)) + "</h2>\n";
}

void ReportPage::paragraph(const std::string& text, const char* kind) {
    out_ += *kind == 0 ? "<p>" : fmt::format("<p class=\"{}\">", kind);
    out_ += escaped(text) + "</p>\n";
}

void ReportPage::table(const Cells& headings, const std::vector<Cells>& rows,
                       std::size_t numbers_from) {
    const auto row = [&](const Cells& cells, const char* tag) {
        out_ += "<tr>";
        for (std::size_t i = 0; i < cells.size(); ++i) {
            out_ += fmt::format("<{}{}>{}</{}>", tag, i >= numbers_from ? " class=\"n\"" : "",
                                escaped(cells[i]), tag);
        }
        out_ += "</tr>\n";
    };
    out_ += "<table><thead>";
    row(headings, "th");
    out_ += "</thead><tbody>";
    for (const Cells& cells : rows) {
        row(cells, "td");
    }
    out_ += "</tbody></table>\n";
}

void ReportPage::figure(const std::string& svg, const std::string& caption) {
    out_ += "<figure>" + svg + "<figcaption>" + escaped(caption) + "</figcaption></figure>\n";
}

}  // namespace waybourne::server
