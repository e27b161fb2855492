#include "journal/journal_file.hpp"

#include <istream>
#include <nlohmann/json.hpp>
#include <ostream>

#include "journal/internal/json.hpp"
#include "journal/internal/whole_number.hpp"

namespace waybourne::journal {

using nlohmann::json;
using nlohmann::ordered_json;

namespace {

constexpr std::size_t page = 1000;
// A body of 1 MiB in which every byte is escaped as \u00xx, and the header.
constexpr std::size_t max_line_bytes = 6 * max_body_bytes + (64 << 10);

const ordered_json& header() {
    static const ordered_json line{{"format", "waybourne-journal"}, {"version", 1}};
    return line;
}

std::string end_line(const Head& head) {
    return ordered_json{{"end", {{"sequence", head.sequence}, {"hash", to_hex(head.hash)}}}}.dump();
}

std::string text_of(const json& object, const char* name) {
    const auto found = object.find(name);
    return found == object.end() ? "" : found->get<std::string>();
}

Envelope to_envelope(const json& object) {
    for (const auto& [name, unused] : object.items()) {
        static const std::vector<std::string> known{
            "sequence", "at",    "who",  "kind", "subject",      "idempotency_key",
            "part",     "parts", "salt", "body", "content_hash", "hash"};
        if (std::find(known.begin(), known.end(), name) == known.end()) {
            throw InputError("an envelope has no \"" + name + "\"");
        }
    }
    Envelope envelope;
    envelope.sequence = internal::whole_number<Sequence>(object.at("sequence"));
    envelope.at = parse_rfc3339(object.at("at").get<std::string>());
    envelope.who = object.at("who").get<std::string>();
    envelope.kind = object.at("kind").get<std::string>();
    envelope.subject = object.at("subject").get<std::string>();
    envelope.idempotency_key = text_of(object, "idempotency_key");
    envelope.part = internal::whole_number<int>(object.at("part"));
    envelope.parts = internal::whole_number<int>(object.at("parts"));
    if (object.contains("body")) {
        envelope.salt = bytes_from_hex(object.at("salt").get<std::string>());
        envelope.body = object.at("body").get<std::string>();
    } else if (object.contains("salt")) {
        throw InputError("a salt without a body");
    }
    envelope.content_hash = digest_from_hex(object.at("content_hash").get<std::string>());
    envelope.hash = digest_from_hex(object.at("hash").get<std::string>());
    return envelope;
}

/// What no journal of ours would have stored, however well it is hashed.
void check_texts(const Envelope& envelope) {
    for (const std::string* text : {&envelope.who, &envelope.kind, &envelope.subject}) {
        if (text->empty() || text->size() > max_header_text_bytes ||
            text->find('\0') != std::string::npos) {
            throw InputError("a name in the header is empty, too long or not text");
        }
    }
    if (envelope.idempotency_key.size() > max_header_text_bytes ||
        envelope.idempotency_key.find('\0') != std::string::npos) {
        throw InputError("the idempotency key is too long or not text");
    }
    if (!is_storable(envelope.at)) {
        throw InputError("the time is not in the years 0 to 9999");
    }
    if (envelope.body && !internal::is_json(*envelope.body)) {
        throw InputError("the body is not JSON in UTF-8");
    }
}

}  // namespace

std::string to_line(const Envelope& envelope) {
    ordered_json line{{"sequence", envelope.sequence},
                      {"at", to_rfc3339(envelope.at)},
                      {"who", envelope.who},
                      {"kind", envelope.kind},
                      {"subject", envelope.subject}};
    if (!envelope.idempotency_key.empty()) {
        line["idempotency_key"] = envelope.idempotency_key;
    }
    line["part"] = envelope.part;
    line["parts"] = envelope.parts;
    if (envelope.body) {
        line["salt"] = to_hex(*envelope.salt);
        line["body"] = *envelope.body;
    }
    line["content_hash"] = to_hex(envelope.content_hash);
    line["hash"] = to_hex(envelope.hash);
    return line.dump();
}

Head export_journal(const Journal& journal, std::ostream& out, const Progress& progress) {
    const auto total = static_cast<double>(std::max<Sequence>(1, journal.head().sequence));
    out << header().dump() << '\n';
    Head head;
    for (auto envelopes = journal.read(0, page); !envelopes.empty();
         envelopes = journal.read(head.sequence, page)) {
        for (const Envelope& envelope : envelopes) {
            out << to_line(envelope) << '\n';
        }
        head = {envelopes.back().sequence, envelopes.back().hash};
        if (!out) {
            break;
        }
        report(progress, "exporting", std::min(1.0, static_cast<double>(head.sequence) / total));
    }
    out << end_line(head) << '\n' << std::flush;
    if (!out) {
        throw StorageFailed("the export could not be written to its end");
    }
    return head;
}

void JournalFileReader::refuse(const std::string& why) const {
    throw InputError("this is not a whole and unchanged journal",
                     {{"line " + std::to_string(line_), why}});
}

std::string JournalFileReader::line() {
    ++line_;
    std::string text;
    std::streambuf& buffer = *in_.rdbuf();
    for (int c = buffer.sbumpc(); c != '\n'; c = buffer.sbumpc()) {
        if (c == std::char_traits<char>::eof()) {
            refuse("the file is cut off");
        }
        if (text.size() == max_line_bytes) {
            refuse("has more than " + std::to_string(max_line_bytes) + " bytes");
        }
        text += static_cast<char>(c);
    }
    return text;
}

void JournalFileReader::read_header() {
    const json found = json::parse(line(), nullptr, false);
    if (!found.is_object() || text_of(found, "format") != "waybourne-journal") {
        refuse("is not the first line of an exported journal");
    }
    if (found != json(header())) {
        refuse("is of another version than 1: a newer program reads it");
    }
}

std::optional<Envelope> JournalFileReader::next() {
    if (is_at_end_) {
        return std::nullopt;
    }
    try {
        if (line_ == 0) {
            read_header();
        }
        const std::string text = line();
        if (!internal::is_json(text)) {
            refuse("is not JSON in UTF-8");
        }
        const json object = json::parse(text);
        if (!object.contains("end")) {
            Envelope envelope = to_envelope(object);
            check_texts(envelope);
            if (const auto fault = chain_.add(envelope)) {
                refuse(fault->reason);
            }
            return envelope;
        }
        if (object != json::parse(end_line(chain_.head()))) {
            refuse("is not the end of what came before");
        }
        if (in_.rdbuf()->sgetc() != std::char_traits<char>::eof()) {
            refuse("should be the last line");
        }
    } catch (const json::exception&) {
        refuse("lacks a member of an envelope, or has it in another form");
    } catch (const InputError& error) {
        if (!error.fields().empty()) {
            throw;
        }
        refuse(error.what());
    }
    if (const auto fault = chain_.finish()) {
        refuse("envelope " + std::to_string(fault->sequence) + ": " + fault->reason);
    }
    is_at_end_ = true;
    return std::nullopt;
}

Head restore_journal(std::istream& in, Journal& journal) {
    JournalFileReader reader{in};
    return journal.restore([&] { return reader.next(); });
}

}  // namespace waybourne::journal
