#include "triage/protocol_check.hpp"

#include <ostream>

#include "server/cli/commands.hpp"
#include "server/json/protocol.hpp"
#include "server/program_files.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// A file that a person named: not to be had is their error, not damage of ours.
std::string read_named_file(const std::string& file) {
    try {
        return read_program_file(file);
    } catch (const DataError& error) {
        throw InputError(error.what());
    }
}

}  // namespace

int run_protocol_check(const ProtocolCheckOptions& options, Terminal& terminal) {
    const auto ours = program_folder() / "triage" / "protocol";
    const std::string file =
        options.file.empty() ? (ours / "protocol.json").string() : options.file;
    const std::string texts =
        options.texts.empty() ? (ours / "texts.en.json").string() : options.texts;
    const triage::ProtocolVerdict verdict =
        triage::check_protocol_file(read_named_file(file), parse_catalogue(read_named_file(texts)));
    if (options.json) {
        JsonWriter json{2};
        write_verdict(json, verdict);
        terminal.out << json.take() << '\n';
    } else if (verdict.passed()) {
        terminal.out << file << ": may be used. " << verdict.rules << " rules, " << verdict.steps
                     << " changes for the worse looked at: " << verdict.safe_by_shape
                     << " proven by the shape of a rule, " << verdict.safe_by_enumeration
                     << " by trying every case.\n";
    } else {
        for (const triage::ProtocolFault& fault : verdict.faults) {
            terminal.out << to_text(fault) << '\n';
        }
    }
    if (!verdict.passed()) {
        terminal.err << "waybourne: " << file << " must not be used: " << verdict.faults.size()
                     << (verdict.faults.size() == 1 ? " fault\n" : " faults\n");
        return 2;
    }
    return 0;
}

}  // namespace waybourne::server
