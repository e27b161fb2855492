#include <doctest/doctest.h>

#include <array>
#include <cstdio>
#include <fstream>
#include <memory>

#include "journal/open_journal.hpp"
#include "server/note_page.hpp"
#include "tests/server/has.hpp"
#include "tests/server/program_run.hpp"
#include "tests/server/recorded_sample.hpp"

// The printed note, read back with tools that are not ours: pdftotext, pdfinfo and pdftoppm of
// poppler, zbarimg of zbar. Page size: ISO 216. Contents: clinical specification, section g.

namespace waybourne::server::test {

namespace {

std::string output_of(const std::string& command) {
    const std::unique_ptr<FILE, decltype(&pclose)> pipe{popen(command.c_str(), "r"), &pclose};
    REQUIRE(pipe != nullptr);
    std::string text;
    std::array<char, 4096> block{};
    for (std::size_t count = fread(block.data(), 1, block.size(), pipe.get()); count > 0;
         count = fread(block.data(), 1, block.size(), pipe.get())) {
        text.append(block.data(), count);
    }
    return text;
}

/// A page that others read.
class Printed {
public:
    explicit Printed(const std::string& pdf) : file_((folder_.path() / "note.pdf").string()) {
        std::ofstream{file_, std::ios::binary} << pdf;
    }
    std::string text() const { return output_of("pdftotext -layout " + file_ + " - 2>/dev/null"); }
    std::string about() const { return output_of("pdfinfo " + file_ + " 2>/dev/null"); }
    /// What a phone reads from the paper, at the resolution of a poor photograph.
    std::string qr() const {
        const std::string image = (folder_.path() / "note").string();
        output_of("pdftoppm -r 100 -png -singlefile " + file_ + " " + image + " 2>/dev/null");
        return output_of("zbarimg --quiet --raw " + image + ".png 2>/dev/null");
    }
    /// Whether ink lies within a strip along the right edge, in points: nothing may run off there.
    bool is_clear_at_right_edge(int strip) const {
        const std::string box = output_of("pdftotext -bbox " + file_ + " - 2>/dev/null");
        for (std::size_t at = box.find("xMax=\""); at != std::string::npos;
             at = box.find("xMax=\"", at + 1)) {
            if (std::stod(box.substr(at + 6)) > 595.28 - strip) {
                return false;
            }
        }
        return true;
    }

private:
    PrivateFolder folder_;
    std::string file_;
};

NotePage small_page() {
    NotePage page;
    page.code = "7K3M9HXA";
    page.note = "REFERRAL NOTE\nSITUATION\npregnant; 34 weeks\n";
    page.cautions = {"Not approved for use: for training and trial."};
    page.more = "… {count} more lines";
    return page;
}

}  // namespace

TEST_CASE("The note of a referral prints on one A4 page that holds what the receiving team needs") {
    const RecordedSample sample;
    const std::string code = sample.open();
    const Reply reply = sample.send("GET", "/v1/referrals/" + code + "/note.pdf");
    REQUIRE(reply.status == 200);
    CHECK(reply.field("Content-Type") == "application/pdf");
    CHECK(has(reply.field("Content-Disposition"), code));
    const Printed printed{reply.body};
    CHECK(has(printed.about(), "Pages:           1"));
    CHECK(has(printed.about(), "(A4)"));
    const std::string text = printed.text();
    for (const std::string part :
         {"REFERRAL NOTE", "SITUATION", "BACKGROUND", "ASSESSMENT", "RECOMMENDATION",
          "severe headache", "165/112", "Kezhiru clinic", "Not approved for use", "not a diagnosis",
          "(critical)", "(c) Rests in part"}) {
        CAPTURE(part);
        CHECK(has(text, part));
    }
    // the place that is asked, also where another one was recommended first
    CHECK(has(text, "To Sorvrith district hospital"));
    CHECK(has(text, "Case " + code));
    // without an address of the server the code alone is in the picture
    CHECK(printed.qr() == code + "\n");
}

TEST_CASE("The QR code leads to the referral, and holds nothing about the woman") {
    NotePage page = small_page();
    page.link = note_link("https://district.example", page.code);
    CHECK(Printed{render_note_pdf(page)}.qr() == "https://district.example/#/referral/7K3M9HXA\n");
    page.link =
        note_link("http://192.168.100.100:8080/some/deeper/path/of/the/district/", page.code);
    CHECK(Printed{render_note_pdf(page)}.qr() == page.link + "\n");
    CHECK(note_link("", page.code).empty());
}

TEST_CASE("Letters of other languages come out as they were written") {
    NotePage page = small_page();
    const std::vector<std::string> words{"céphalée sévère, œdème, à l’hôpital",
                                         "Łódź",
                                         "Nyeri ŋɛɔ",
                                         "Ελλάδα",
                                         "Кириллица",
                                         "Đồng Hới"};
    page.note = "";
    for (const std::string& word : words) {
        page.note += word + "\n";
    }
    const std::string text = Printed{render_note_pdf(page)}.text();
    for (const std::string& word : words) {
        CAPTURE(word);
        CHECK(has(text, word));
    }
}

TEST_CASE("What does not fit is counted on the page, never cut silently") {
    NotePage page = small_page();
    page.note = "";
    for (int line = 1; line <= 90; ++line) {
        page.note += "line " + std::to_string(line) + "\n";
    }
    for (int caution = 0; caution < 30; ++caution) {
        page.cautions.push_back("Caution " + std::to_string(caution) + ".");
    }
    const Printed printed{render_note_pdf(page)};
    CHECK(has(printed.about(), "Pages:           1"));
    const std::string text = printed.text();
    CHECK(has(text, "line 65\n"));
    CHECK_FALSE(has(text, "line 66\n"));
    CHECK(has(text, "… 25 more lines"));  // 90 lines, 65 shown and this one in place of the rest
    CHECK(has(text, "… 23 more lines"));  // 31 cautions on 9 lines
}

TEST_CASE("A line that is too long is made narrower, so that it stays on the paper") {
    NotePage page = small_page();
    page.note = std::string(160, 'W') + "END\n";
    page.cautions = {std::string(400, 'w') + "END"};
    const Printed printed{render_note_pdf(page)};
    CHECK(has(printed.text(), "WEND"));
    CHECK(has(printed.text(), "wEND"));
    CHECK(printed.is_clear_at_right_edge(30));
}

TEST_CASE("Practice is printed large; a real case carries no such word") {
    NotePage page = small_page();
    page.practice_label = "PRACTICE: NOT A REAL CASE";
    CHECK(has(Printed{render_note_pdf(page)}.text(), "PRACTICE: NOT A REAL CASE"));
}

TEST_CASE("After a diversion the note names the new place") {
    RecordedSample sample;
    const std::string code = sample.open();
    REQUIRE(sample.tell(code, R"({"step": "declined", "reason": "theatre_closed"})").status == 200);
    REQUIRE(sample.tell(code, R"({"step": "diverted", "place": "venzhoth-hospital"})").status ==
            200);
    const Printed printed{sample.send("GET", "/v1/referrals/" + code + "/note.pdf").body};
    CHECK(has(printed.text(), "To Venzhoth hospital"));
    // a diversion that was told by mistake and is taken back
    const JsonValue shown = sample.show(code);
    const std::string mistake = text_at(at(shown, "history").items().back(), "id");
    REQUIRE(sample.tell(code, R"({"step": "withdrawn", "corrects": ")" + mistake + "\"}").status ==
            200);
    const Printed again{sample.send("GET", "/v1/referrals/" + code + "/note.pdf").body};
    CHECK(has(again.text(), "To Sorvrith district hospital"));
}

TEST_CASE("Before anybody is asked there is no note to print, and none of a redacted case") {
    const PrivateFolder folder;
    RecordedSample sample{folder.path()};
    std::string body = opening_body();
    const std::string to = R"(, "to": "sorvrith-hospital")";
    body.erase(body.find(to), to.size());
    const Reply opened = sample.send("POST", "/v1/referrals", body);
    REQUIRE_MESSAGE(opened.status == 201, opened.body);
    const std::string code = text_at(parse_json(opened.body), "code");
    CHECK(sample.send("GET", "/v1/referrals/" + code + "/note.pdf").status == 409);
    const std::string redacted = "/v1/referrals/" + sample.open() + "/note.pdf";
    CHECK(sample.send("GET", redacted).status == 200);
    journal::Redaction all{sample.clock().now(), "retention", "time is over"};
    all.older_than = sample.clock().now() + 1s;
    journal::open_journal((folder.path() / "journal.db").string())->redact(all);
    sample.records().catch_up();
    CHECK(sample.send("GET", redacted).status == 409);
}

TEST_CASE("The note is printed from the journal on the command line too") {
    const PrivateFolder folder;
    std::string code;
    {
        const RecordedSample sample{folder.path()};
        code = sample.open();
    }
    const std::string journal = (folder.path() / "journal.db").string();
    const std::string file = (folder.path() / "note.pdf").string();
    const ProgramRun run = run_program({"note", journal, code, "--output", file, "--link-base",
                                        "https://district.example", "--json"});
    CHECK_MESSAGE(run.code == 0, run.err);
    std::ifstream made{file, std::ios::binary};
    const std::string pdf{std::istreambuf_iterator<char>{made}, {}};
    CHECK(Printed{pdf}.qr() == "https://district.example/#/referral/" + code + "\n");
    CHECK(text_at(parse_json(run.out), "code") == code);
    CHECK(at(parse_json(run.out), "bytes").number() == static_cast<double>(pdf.size()));
}

}  // namespace waybourne::server::test
