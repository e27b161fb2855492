#pragma once
/// Whether a journal is whole and unchanged.

#include <optional>
#include <string>
#include <vector>

#include "journal/journal.hpp"
#include "vocabulary/progress.hpp"

namespace waybourne::journal {

/// The first envelope that is wrong, and why.
struct Fault {
    Sequence sequence = 0;
    std::string reason;
    bool operator==(const Fault&) const = default;
};

struct Verdict {
    Sequence checked = 0;   ///< envelopes found in order before the fault, if any
    Sequence redacted = 0;  ///< of these, without a body
    Head head;              ///< of the last that is in order
    std::optional<Fault> fault;
    bool passed() const { return !fault; }
};

/// Takes a chain envelope by envelope. Looks for gaps, wrong hashes, bodies that do not fit their
/// hash, events that were to be stored together and are not, and missing bodies that no
/// `journal.redacted` envelope accounts for. 16 bytes for each run of redacted envelopes.
class ChainVerifier {
public:
    /// Throws nothing. O(length of the envelope). After a fault the verifier has no further use.
    std::optional<Fault> add(const Envelope& envelope);

    /// To be asked once, after the last envelope.
    std::optional<Fault> finish();

    const Head& head() const { return head_; }
    Sequence redacted() const { return redacted_; }

private:
    std::optional<std::string> wrong_with(const Envelope& envelope);
    std::optional<std::string> wrong_with_content(const Envelope& envelope);
    bool continues(const Envelope& envelope) const;

    Head head_;
    Sequence redacted_ = 0;
    std::optional<Envelope> last_;  // without its body
    using Range = std::pair<Sequence, Sequence>;
    std::vector<Range> missing_;
    std::vector<Range> recorded_;
};

/// Reads the whole journal. Somebody may write meanwhile.
/// @param known an earlier head that was written down elsewhere: must be in the chain
Verdict verify(const Journal& journal, const std::optional<Head>& known = {},
               const Progress& progress = {});

}  // namespace waybourne::journal
