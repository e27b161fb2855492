#pragma once
/// A journal as a stream of JSON lines: to be kept elsewhere, moved to another store, or read by
/// other programs.
///
/// The first line is `{"format": "waybourne-journal", "version": 1}`; then one line for each
/// envelope, in order, the body as a JSON string so that its bytes are kept; the last line is
/// `{"end": {"sequence": …, "hash": "…"}}`, so that a cut-off file is noticed.

#include <iosfwd>
#include <optional>
#include <string>

#include "journal/journal.hpp"
#include "journal/verify.hpp"
#include "vocabulary/progress.hpp"

namespace waybourne::journal {

/// Writes all there is; somebody may write to the journal meanwhile.
/// @return the head that the file ends with
/// @throws StorageFailed when the stream takes no more; DataError as `Journal::read`
Head export_journal(const Journal& journal, std::ostream& out, const Progress& progress = {});

/// Reads and verifies an exported journal, line by line, in little memory.
class JournalFileReader {
public:
    /// @param in must outlive the reader
    explicit JournalFileReader(std::istream& in) : in_(in) {}

    /// None at the end of a whole and unchanged file.
    /// @throws InputError naming the line and what is wrong there; the reader is of no further use
    std::optional<Envelope> next();

private:
    std::string line();
    void read_header();
    [[noreturn]] void refuse(const std::string& why) const;

    std::istream& in_;
    std::size_t line_ = 0;
    bool is_at_end_ = false;
    ChainVerifier chain_;
};

/// Fills an empty journal from an exported one: wholly, or not at all.
/// @throws InputError as the reader does; Conflict unless the journal is empty
Head restore_journal(std::istream& in, Journal& journal);

/// One line of the file, without the line break.
std::string to_line(const Envelope& envelope);

}  // namespace waybourne::journal
