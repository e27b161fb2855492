#pragma once

#include <string>

namespace waybourne::server::test {

/// Whether a part stands in a text.
inline bool has(const std::string& text, const std::string& part) {
    return text.find(part) != std::string::npos;
}

}  // namespace waybourne::server::test
