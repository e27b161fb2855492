/// Exported journals from anywhere: whatever the bytes are, they are read or refused. Each line is
/// also read on its own with its hashes put right, so that the search gets past them.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <sstream>
#include <string_view>

#include "journal/internal/json.hpp"
#include "journal/journal_file.hpp"
#include "vocabulary/error.hpp"

namespace {

using namespace waybourne;
using namespace waybourne::journal;

/// What was read is written and read again the same.
void read_all(std::string_view text) {
    std::istringstream in{std::string{text}};
    JournalFileReader reader{in};
    std::ostringstream out;
    while (const auto envelope = reader.next()) {
        out << to_line(*envelope) << '\n';
    }
}

/// As an envelope of a journal of one, with the text in every place that takes any.
void make_one(std::string_view text) {
    Envelope envelope;
    envelope.sequence = 1;
    envelope.at = Instant{Seconds{static_cast<std::int64_t>(text.size())}};
    envelope.who = "fuzz";
    envelope.kind = text.empty() || text[0] % 2 == 0 ? "fuzz.one" : redacted_kind;
    envelope.subject = "fuzz";
    envelope.salt = "0123456789abcdef";
    envelope.body = std::string{text};
    envelope.content_hash = content_hash(*envelope.salt, *envelope.body);
    envelope.hash = chain_hash({}, envelope);
    if (!internal::is_json(text)) {
        return;
    }
    const std::string file = "{\"format\":\"waybourne-journal\",\"version\":1}\n" +
                             to_line(envelope) + "\n{\"end\":{\"sequence\":1,\"hash\":\"" +
                             to_hex(envelope.hash) + "\"}}\n";
    std::istringstream in{file};
    JournalFileReader reader{in};
    const auto again = reader.next();
    if (again != envelope || reader.next()) {
        std::abort();
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string_view text{reinterpret_cast<const char*>(data), size};
    for (const auto& read : {read_all, make_one}) {
        try {
            read(text);
        } catch (const InputError&) {
            // refused, as it should be
        }
    }
    return 0;
}
