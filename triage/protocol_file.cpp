#include "triage/protocol_file.hpp"

#include <vector>

#include "triage/internal/protocol_reader.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::triage {

Protocol parse_protocol(std::string_view json) {
    const TextTree tree = parse_text_tree(json);
    std::vector<FieldError> errors;
    Protocol protocol = ProtocolReader(tree, errors).read();
    if (!errors.empty()) {
        throw InputError("the protocol file is not complete or not consistent", errors);
    }
    protocol.sha256 = sha256(json);
    return protocol;
}

}  // namespace waybourne::triage
