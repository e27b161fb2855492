#pragma once
/// Text from outside, cut for an error message.

#include <string>
#include <string_view>

namespace waybourne {

/// At most `longest` bytes of the text, never ending inside a UTF-8 character: a half one could not
/// be written as JSON.
inline std::string shortened(std::string_view text, std::size_t longest = 40) {
    if (text.size() <= longest) {
        return std::string(text);
    }
    std::size_t end = longest;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) {
        --end;
    }
    return std::string(text.substr(0, end));
}

}  // namespace waybourne
