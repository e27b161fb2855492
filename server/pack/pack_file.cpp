#include "server/pack/pack_file.hpp"

#include <algorithm>

#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

namespace {

constexpr std::string_view magic{"WBPACK\r\n", 8};
constexpr std::size_t hash_bytes = 32;
constexpr std::size_t signature_bytes = 64;
constexpr std::size_t alignment = 64;
constexpr std::size_t most_sections = 64;
constexpr std::size_t longest_name = 64;

[[noreturn]] void refuse(const std::string& why) {
    throw DataError("the pack cannot be used: " + why);
}

void append_number(std::string& out, std::uint64_t number, std::size_t bytes) {
    for (std::size_t i = 0; i < bytes; ++i) {
        out += static_cast<char>((number >> (8 * i)) & 0xFFU);
    }
}

/// Takes numbers and texts off the front; never looks past the end.
class Reader {
public:
    explicit Reader(std::string_view bytes) : bytes_(bytes) {}

    std::string_view take(std::uint64_t count) {
        if (count > bytes_.size() - at_) {
            refuse("it is cut short");
        }
        const std::string_view taken = bytes_.substr(at_, static_cast<std::size_t>(count));
        at_ += taken.size();
        return taken;
    }
    std::uint64_t number(std::size_t bytes) {
        std::uint64_t value = 0;
        std::size_t shift = 0;
        for (const char byte : take(bytes)) {
            value |= std::uint64_t{static_cast<unsigned char>(byte)} << shift;
            shift += 8;
        }
        return value;
    }
    void skip_padding() {
        const std::size_t past = at_ % alignment;
        const std::string_view padding = take(past == 0 ? 0 : alignment - past);
        if (padding.find_first_not_of('\0') != std::string_view::npos) {
            refuse("something stands between its sections");
        }
    }
    bool is_at_end() const { return at_ == bytes_.size(); }

private:
    std::string_view bytes_;
    std::size_t at_ = 0;
};

void pad(std::string& out) {
    out.resize((out.size() + alignment - 1) / alignment * alignment, '\0');
}

int digit_value(char digit) {
    if (digit >= '0' && digit <= '9') {
        return digit - '0';
    }
    return digit >= 'a' && digit <= 'f' ? digit - 'a' + 10 : -1;
}

}  // namespace

std::string to_hex(std::string_view bytes) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::string text;
    text.reserve(2 * bytes.size());
    for (const char byte : bytes) {
        const auto value = static_cast<unsigned char>(byte);
        text += digits[value / 16U];
        text += digits[value % 16U];
    }
    return text;
}

std::string from_hex(std::string_view digits) {
    std::string bytes;
    for (std::size_t i = 0; i + 1 < digits.size(); i += 2) {
        const int high = digit_value(digits[i]);
        const int low = digit_value(digits[i + 1]);
        if (high < 0 || low < 0) {
            throw InputError("these are not hexadecimal digits");
        }
        bytes += static_cast<char>(high * 16 + low);
    }
    if (digits.size() % 2 != 0) {
        throw InputError("an odd number of hexadecimal digits");
    }
    return bytes;
}

PackHeader read_pack_header(std::string_view file) {
    if (file.substr(0, magic.size()) != magic) {
        refuse("this is no district pack of Waybourne");
    }
    Reader reader{file};
    reader.take(magic.size());
    const std::uint64_t version = reader.number(4);
    if (version != pack_version) {
        refuse("it was made by " + std::string(version < pack_version ? "an older" : "a newer") +
               " version (format " + std::to_string(version) + ", this program reads " +
               std::to_string(pack_version) + "); load it again from the server");
    }
    const bool is_plain = reader.number(4) == 0;
    PackHeader header;
    header.packed_bytes = reader.number(8);
    header.unpacked_bytes = reader.number(8);
    header.made_at = Instant{Seconds{static_cast<std::int64_t>(reader.number(8))}};
    header.payload_sha256 = to_hex(reader.take(hash_bytes));
    header.public_key = to_hex(reader.take(hash_bytes));
    header.signature = to_hex(reader.take(signature_bytes));
    if (!is_plain || header.unpacked_bytes > most_unpacked_bytes) {
        refuse("its header is damaged");
    }
    const std::string_view payload = file.substr(pack_header_bytes);
    if (payload.size() != header.packed_bytes) {
        refuse(payload.size() < header.packed_bytes ? "it is cut short"
                                                    : "something stands after its end");
    }
    if (sha256(payload) != header.payload_sha256) {
        refuse("its content is damaged");
    }
    return header;
}

void check_pack_key(const PackHeader& header, std::string_view trusted_key) {
    if (header.public_key != trusted_key) {
        constexpr std::size_t shown = 16;
        refuse("it was signed by another server (key " + header.public_key.substr(0, shown) +
               "…, trusted is " + std::string(trusted_key.substr(0, shown)) + "…)");
    }
}

std::string signed_part(const PackHeader& header) {
    std::string bytes{magic};
    append_number(bytes, pack_version, 4);
    append_number(bytes, 0, 4);
    append_number(bytes, header.packed_bytes, 8);
    append_number(bytes, header.unpacked_bytes, 8);
    append_number(bytes, static_cast<std::uint64_t>(header.made_at.time_since_epoch().count()), 8);
    bytes += from_hex(header.payload_sha256);
    bytes += from_hex(header.public_key);
    return bytes;
}

std::string write_sections(const PackSections& sections) {
    std::string bytes;
    append_number(bytes, sections.size(), 4);
    for (const auto& [name, content] : sections) {
        append_number(bytes, name.size(), 4);
        append_number(bytes, content.size(), 8);
        bytes += name;
    }
    for (const auto& [name, content] : sections) {
        pad(bytes);
        bytes += content;
    }
    return bytes;
}

PackSections read_sections(std::string_view payload) {
    Reader reader{payload};
    const std::uint64_t count = reader.number(4);
    if (count > most_sections) {
        refuse("its table of sections is damaged");
    }
    std::vector<std::pair<std::string, std::uint64_t>> table;
    for (std::uint64_t i = 0; i < count; ++i) {
        const std::uint64_t name_bytes = reader.number(4);
        const std::uint64_t content_bytes = reader.number(8);
        if (name_bytes > longest_name) {
            refuse("its table of sections is damaged");
        }
        table.emplace_back(reader.take(name_bytes), content_bytes);
    }
    PackSections sections;
    for (auto& [name, bytes] : table) {
        reader.skip_padding();
        sections.emplace_back(std::move(name), reader.take(bytes));
    }
    if (!reader.is_at_end()) {
        refuse("something stands after its last section");
    }
    return sections;
}

std::string_view section(const PackSections& sections, std::string_view name) {
    const auto found = std::find_if(sections.begin(), sections.end(),
                                    [&](const auto& one) { return one.first == name; });
    if (found == sections.end()) {
        refuse("its " + std::string(name) + " is missing");
    }
    return found->second;
}

}  // namespace waybourne::server
