#include "vocabulary/csv.hpp"

#include <algorithm>

namespace waybourne {

namespace {

class Reader {
public:
    explicit Reader(std::string_view text) : text_(text) {
        if (text_.substr(0, 3) == "\xEF\xBB\xBF") {
            at_ = 3;
        }
    }

    std::vector<CsvRow> rows() {
        std::vector<CsvRow> all;
        while (at_ < text_.size()) {
            CsvRow row = next_row();
            const bool is_empty_line =
                row.problem.empty() && row.values.size() == 1 && row.values[0].empty();
            if (!is_empty_line) {
                all.push_back(std::move(row));
            }
        }
        return all;
    }

private:
    CsvRow next_row() {
        CsvRow row;
        row.line = line_;
        const std::size_t start = at_;
        do {
            row.values.push_back(starts_with('"') ? quoted(row.problem) : plain(row.problem));
        } while (row.problem.empty() && take(','));
        if (row.problem.empty() && !at_line_end()) {
            row.problem = "text follows a closing quote";
        }
        if (!row.problem.empty()) {
            give_up(start, row.line);
        }
        skip_line_end();
        return row;
    }

    std::string plain(std::string& problem) {
        const std::size_t start = at_;
        while (at_ < text_.size() && text_[at_] != ',' && !at_line_end()) {
            if (text_[at_] == '"') {
                problem = "a quote inside a value that does not begin with one";
                return {};
            }
            ++at_;
        }
        return std::string(text_.substr(start, at_ - start));
    }

    std::string quoted(std::string& problem) {
        std::string value;
        ++at_;
        while (at_ < text_.size()) {
            if (text_[at_] != '"') {
                line_ += text_[at_] == '\n' ? 1 : 0;
                value += text_[at_++];
            } else if (text_.substr(at_, 2) == "\"\"") {
                value += '"';
                at_ += 2;
            } else {
                ++at_;
                return value;
            }
        }
        problem = "a quote is opened and never closed";
        return {};
    }

    bool starts_with(char c) const { return at_ < text_.size() && text_[at_] == c; }
    bool take(char c) {
        if (!starts_with(c)) {
            return false;
        }
        ++at_;
        return true;
    }
    bool at_line_end() const {
        return at_ >= text_.size() || text_[at_] == '\n' || text_.substr(at_, 2) == "\r\n";
    }
    void skip_line_end() {
        take('\r');
        if (take('\n')) {
            ++line_;
        }
    }
    /// Goes on after the first line of a row that cannot be read.
    void give_up(std::size_t start, std::size_t line) {
        at_ = std::min(text_.find('\n', start), text_.size());
        line_ = line;
    }

    std::string_view text_;
    std::size_t at_ = 0;
    std::size_t line_ = 1;
};

/// How many bytes follow this first one; -1 when it cannot be a first one.
int following(unsigned char first) {
    if (first == 0) {
        return -1;
    }
    if (first < 0x80) {
        return 0;
    }
    if (first >= 0xC2 && first <= 0xDF) {
        return 1;
    }
    if (first >= 0xE0 && first <= 0xEF) {
        return 2;
    }
    return first >= 0xF0 && first <= 0xF4 ? 3 : -1;
}

/// The second byte's limits keep out surrogates, overlong forms and what lies above U+10FFFF.
bool is_second(unsigned char first, unsigned char second) {
    const unsigned char low = first == 0xE0 ? 0xA0 : first == 0xF0 ? 0x90 : 0x80;
    const unsigned char high = first == 0xED ? 0x9F : first == 0xF4 ? 0x8F : 0xBF;
    return second >= low && second <= high;
}

}  // namespace

std::vector<CsvRow> read_csv(std::string_view text) {
    return Reader(text).rows();
}

bool is_utf8(std::string_view text) {
    for (std::size_t at = 0; at < text.size(); ++at) {
        const auto first = static_cast<unsigned char>(text[at]);
        const int more = following(first);
        if (more < 0 || at + static_cast<std::size_t>(more) >= text.size()) {
            return false;
        }
        for (int i = 1; i <= more; ++i) {
            const auto byte = static_cast<unsigned char>(text[++at]);
            if (i == 1 ? !is_second(first, byte) : byte < 0x80 || byte > 0xBF) {
                return false;
            }
        }
    }
    return true;
}

}  // namespace waybourne
