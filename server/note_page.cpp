#include "server/note_page.hpp"

#include <hpdf.h>
#include <qrencode.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <memory>

#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

// In points of 1/72 inch. A4: ISO 216. The rest is ours: a margin that office printers keep, and
// 66 lines of the note at a size that is read at arm's length.
constexpr float page_height = 841.89F;
constexpr float margin = 40;
constexpr float body_width = 515;
constexpr float band_height = 106;
constexpr float note_size = 9.4F;
constexpr float least_leading = 9.9F;
constexpr float most_leading = 12;  // room to write by hand
constexpr float caution_size = 7;
constexpr float caution_leading = 8.2F;
constexpr std::size_t caution_columns = 94;
constexpr std::size_t caution_lines = 9;
constexpr float code_size = 18;
constexpr float link_size = 8;
constexpr float qr_side = 92;
constexpr int quiet_modules = 4;  // around a QR code: ISO/IEC 18004, from memory
constexpr std::size_t most_lines = 66;

/// Debian's fonts-dejavu-core: a face of one width with Latin, Greek, Cyrillic and more.
constexpr std::array fonts{"/usr/share/fonts/truetype/dejavu/DejaVuSansMono.ttf",
                           "/usr/share/fonts/dejavu/DejaVuSansMono.ttf"};

[[noreturn]] void on_error(HPDF_STATUS error, HPDF_STATUS detail, void* /*data*/) {
    throw DataError("the page cannot be made: PDF error " + std::to_string(error) + ", " +
                    std::to_string(detail));
}

using Document = std::unique_ptr<HPDF_Doc_Rec, decltype(&HPDF_Free)>;

HPDF_Font font_of(HPDF_Doc document) {
    for (const char* file : fonts) {
        if (std::filesystem::exists(file)) {
            const char* name = HPDF_LoadTTFontFromFile(document, file, HPDF_TRUE);
            return HPDF_GetFont(document, name, "UTF-8");
        }
    }
    throw DataError(std::string("the font of printed notes is missing: ") + fonts.front() +
                    " (Debian package fonts-dejavu-core)");
}

std::size_t letters_in(std::string_view text) {
    std::size_t count = 0;
    for (const char c : text) {
        count += (static_cast<unsigned char>(c) & 0xC0U) != 0x80U ? 1U : 0U;
    }
    return count;
}

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t end = std::min(text.find('\n', at), text.size());
        lines.push_back(text.substr(at, end - at));
        at = end + 1;
    }
    return lines;
}

/// Broken at spaces; a word that is longer than a line stays whole.
std::vector<std::string> wrapped(const std::string& text, std::size_t columns) {
    std::vector<std::string> lines;
    std::string line;
    std::size_t at = 0;
    while (at < text.size()) {
        const std::size_t end = std::min(text.find(' ', at), text.size());
        const std::string word = text.substr(at, end - at);
        if (!line.empty() && letters_in(line) + 1 + letters_in(word) > columns) {
            lines.push_back(std::exchange(line, {}));
        }
        line += (line.empty() ? "" : " ") + word;
        at = end + 1;
    }
    if (!line.empty()) {
        lines.push_back(line);
    }
    return lines;
}

/// At most `most` lines, the last one saying how many were left out.
std::vector<std::string> fitted(std::vector<std::string> lines, std::size_t most,
                                const std::string& more) {
    if (lines.size() <= most) {
        return lines;
    }
    const std::string left_out = std::to_string(lines.size() - most + 1);
    lines.resize(most - 1);
    std::string last = more;
    const std::size_t place = last.find("{count}");
    if (place != std::string::npos) {
        last.replace(place, std::string_view{"{count}"}.size(), left_out);
    } else {
        last += left_out;
    }
    lines.push_back(last);
    return lines;
}

/// Writes on one page in one font.
class Pen {
public:
    Pen(HPDF_Page page, HPDF_Font font) : page_(page), font_(font) {}

    /// One line; where it is wider than `width` its letters are made narrower, so that nothing
    /// runs off the page.
    void write(float x, float y, float size, const std::string& text,
               float width = body_width) const {
        HPDF_Page_BeginText(page_);
        HPDF_Page_SetFontAndSize(page_, font_, size);
        const float needed = HPDF_Page_TextWidth(page_, text.c_str());
        constexpr float whole = 100;
        HPDF_Page_SetHorizontalScalling(page_, needed > width ? whole * width / needed : whole);
        HPDF_Page_TextOut(page_, x, y, text.c_str());
        HPDF_Page_EndText(page_);
    }

    void square(float x, float y, float side) const {
        HPDF_Page_Rectangle(page_, x, y, side, side);
        HPDF_Page_Fill(page_);
    }

private:
    HPDF_Page page_;
    HPDF_Font font_;
};

/// The code with its quiet zone inside a square whose lower left corner is (x, y).
void draw_qr(const Pen& pen, const std::string& content, float x, float y) {
    const std::unique_ptr<QRcode, decltype(&QRcode_free)> code{
        QRcode_encodeString(content.c_str(), 0, QR_ECLEVEL_M, QR_MODE_8, 1), &QRcode_free};
    if (!code) {
        throw InputError("the link is too long for a QR code");
    }
    const int width = code->width;
    const float module = qr_side / static_cast<float>(width + 2 * quiet_modules);
    for (int row = 0; row < width; ++row) {
        for (int column = 0; column < width; ++column) {
            const bool is_dark = (code->data[row * width + column] & 1U) != 0;
            if (is_dark) {
                pen.square(x + static_cast<float>(column + quiet_modules) * module,
                           y + static_cast<float>(width - 1 - row + quiet_modules) * module,
                           module * 1.02F);  // no hairlines between neighbours
            }
        }
    }
}

void draw_band(const Pen& pen, const NotePage& page, const std::string& content) {
    const float top = page_height - margin;
    const float width = body_width - qr_side - 8;
    const std::string title =
        page.code + (page.practice_label.empty() ? "" : "  " + page.practice_label);
    pen.write(margin, top - code_size, code_size, title, width);
    float y = top - code_size - link_size - 4;
    pen.write(margin, y, link_size, page.link, width);
    std::vector<std::string> lines;
    for (const std::string& caution : page.cautions) {
        const auto some = wrapped(caution, caution_columns);
        lines.insert(lines.end(), some.begin(), some.end());
    }
    for (const std::string& line : fitted(std::move(lines), caution_lines, page.more)) {
        y -= caution_leading;
        pen.write(margin, y - 2, caution_size, line, width);
    }
    draw_qr(pen, content, margin + body_width - qr_side, top - qr_side);
}

}  // namespace

std::string note_link(const std::string& base, const std::string& code) {
    if (base.empty()) {
        return {};
    }
    return base + (base.back() == '/' ? "" : "/") + "#/referral/" + code;
}

std::string render_note_pdf(const NotePage& page) {
    const Document document{HPDF_New(on_error, nullptr), &HPDF_Free};
    if (!document) {
        throw DataError("the page cannot be made: there is no memory");
    }
    HPDF_UseUTFEncodings(document.get());
    HPDF_SetCompressionMode(document.get(), HPDF_COMP_ALL);
    const HPDF_Font font = font_of(document.get());
    const HPDF_Page sheet = HPDF_AddPage(document.get());
    HPDF_Page_SetSize(sheet, HPDF_PAGE_SIZE_A4, HPDF_PAGE_PORTRAIT);
    const Pen pen{sheet, font};
    draw_band(pen, page, page.link.empty() ? page.code : page.link);
    const auto lines = fitted(lines_of(page.note), most_lines, page.more);
    float y = page_height - margin - band_height;
    const float leading = std::clamp((y - margin) / static_cast<float>(lines.size() + 1),
                                     least_leading, most_leading);
    for (const std::string& line : lines) {
        y -= leading;
        pen.write(margin, y, note_size, line);
    }
    HPDF_SaveToStream(document.get());
    std::string bytes(HPDF_GetStreamSize(document.get()), '\0');
    auto size = static_cast<HPDF_UINT32>(bytes.size());
    HPDF_ReadFromStream(document.get(), reinterpret_cast<HPDF_BYTE*>(bytes.data()), &size);
    bytes.resize(size);
    return bytes;
}

}  // namespace waybourne::server
