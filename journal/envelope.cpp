#include "journal/envelope.hpp"

#include <set>

#include "journal/internal/json.hpp"
#include "journal/journal.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::journal {

namespace {

void add_netstring(std::string& text, std::string_view field) {
    text += std::to_string(field.size());
    text += ':';
    text += field;
    text += ',';
}

void add_netstring(std::string& text, std::int64_t number) {
    add_netstring(text, std::string_view{std::to_string(number)});
}

bool has_control_character(std::string_view text) {
    for (const char c : text) {
        if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) {
            return true;
        }
    }
    return false;
}

void check_name(std::vector<FieldError>& errors, const std::string& pointer,
                const std::string& text, bool may_be_empty = false) {
    if (text.empty() && !may_be_empty) {
        errors.push_back({pointer, "is empty"});
    } else if (text.size() > max_header_text_bytes) {
        errors.push_back({pointer, "has " + std::to_string(text.size()) + " bytes, at most " +
                                       std::to_string(max_header_text_bytes) + " are allowed"});
    } else if (has_control_character(text) || !internal::is_utf8(text)) {
        errors.push_back({pointer, "is not plain text in UTF-8"});
    }
}

void check_entry(std::vector<FieldError>& errors, const std::string& pointer, const Entry& entry) {
    check_name(errors, pointer + "/kind", entry.kind);
    check_name(errors, pointer + "/subject", entry.subject);
    if (entry.kind.rfind("journal.", 0) == 0) {
        errors.push_back({pointer + "/kind", "belongs to the journal itself"});
    }
    if (entry.subject == journal_subject) {
        errors.push_back({pointer + "/subject", "belongs to the journal itself"});
    }
    if (entry.body.size() > max_body_bytes) {
        errors.push_back({pointer + "/body", "has " + std::to_string(entry.body.size()) +
                                                 " bytes, at most " +
                                                 std::to_string(max_body_bytes) + " are allowed"});
    } else if (!internal::is_json(entry.body)) {
        errors.push_back({pointer + "/body", "is not JSON in UTF-8"});
    }
}

}  // namespace

bool is_storable(Instant at) {
    using namespace std::chrono;
    constexpr Instant first = sys_days{year{0} / January / 1};
    constexpr Instant end = sys_days{year{10000} / January / 1};
    return at >= first && at < end;
}

Digest content_hash(std::string_view salt, std::string_view body) {
    std::string content;
    content.reserve(salt.size() + body.size());
    content.append(salt).append(body);
    return digest_of(content);
}

Digest chain_hash(const Digest& before, const Envelope& envelope) {
    std::string header;
    constexpr std::size_t usual_size = 400;
    header.reserve(usual_size);
    add_netstring(header, "waybourne-journal-1");
    add_netstring(header, to_hex(before));
    add_netstring(header, envelope.sequence);
    add_netstring(header, envelope.at.time_since_epoch().count());
    add_netstring(header, envelope.who);
    add_netstring(header, envelope.kind);
    add_netstring(header, envelope.subject);
    add_netstring(header, envelope.idempotency_key);
    add_netstring(header, envelope.part);
    add_netstring(header, envelope.parts);
    add_netstring(header, to_hex(envelope.content_hash));
    return digest_of(header);
}

void check(const Append& append) {
    std::vector<FieldError> errors;
    check_name(errors, "#/who", append.who);
    check_name(errors, "#/idempotency_key", append.idempotency_key, true);
    if (!is_storable(append.at)) {
        errors.push_back({"#/at", "is not in the years 0 to 9999"});
    }
    if (append.entries.empty() || append.entries.size() > max_entries) {
        errors.push_back({"#/entries", "has " + std::to_string(append.entries.size()) +
                                           " events, 1 to " + std::to_string(max_entries) +
                                           " can be stored together"});
    }
    for (std::size_t i = 0; i < append.entries.size(); ++i) {
        check_entry(errors, "#/entries/" + std::to_string(i), append.entries[i]);
    }
    std::set<std::string_view> expected;
    for (const Expectation& expectation : append.expectations) {
        if (!expected.insert(expectation.subject).second) {
            errors.push_back({"#/expectations", "name a subject twice"});
        }
    }
    if (!errors.empty()) {
        throw InputError("these events cannot be stored", std::move(errors));
    }
}

}  // namespace waybourne::journal
