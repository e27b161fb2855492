#include "server/referrals/note.hpp"

#include <fstream>
#include <ostream>

#include "journal/open_journal.hpp"
#include "journal/private_file.hpp"
#include "referral/referral_code.hpp"
#include "server/cli/commands.hpp"
#include "server/json/writer.hpp"
#include "server/referrals/recorded.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

int run_note(const NoteOptions& options, Terminal& terminal) {
    const std::string code = referral::parse_referral_code(options.code);
    const auto base = snapshot_of(options.common, moment_of(options.common));
    const auto journal = journal::open_journal(options.journal, journal::Access::read);
    const auto record = read_record(*journal, code, journal->head().sequence);
    if (!record) {
        throw NotFound("there is no referral " + code);
    }
    const std::string bytes =
        render_note_pdf(note_page(*journal, *base, *record, options.link_base));
    journal::PrivateFile file{options.output};
    std::ofstream out{file.part(), std::ios::binary};
    out << bytes;
    out.close();
    if (!out) {
        throw Unavailable(options.output + ": could not be written to its end");
    }
    file.finish();
    if (options.common.json) {
        JsonWriter json{2};
        json.begin_object().member("code", code).member("output", options.output);
        terminal.out << json.member("bytes", bytes.size()).end_object().take() << '\n';
    } else {
        terminal.out << "Written: " << options.output << ", one page.\n";
    }
    return 0;
}

}  // namespace waybourne::server
