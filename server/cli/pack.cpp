#include <fmt/format.h>

#include <ostream>

#include "server/cli/commands.hpp"
#include "server/cli/output_files.hpp"
#include "server/json/writer.hpp"
#include "server/pack/make_pack.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

int run_pack(const PackOptions& options, Terminal& terminal) {
    refuse_same_file({{"--key", options.key}, {"--output", options.output}});
    refuse_existing(options.output);
    const PackKey key = load_pack_key(options.key);
    const auto snapshot = snapshot_of(options.common, moment_of(options.common));
    const std::string bytes = make_pack(*snapshot, key);
    write_new_public_file(options.output, bytes);
    if (options.common.json) {
        JsonWriter json{2};
        json.begin_object().member("output", options.output).member("bytes", bytes.size());
        json.member("sha256", sha256(bytes)).member("made_at", snapshot->made_at);
        json.member("public_key", key.public_key()).end_object();
        terminal.out << json.take() << '\n';
    } else {
        terminal.out << fmt::format("{}: {} bytes, SHA-256 {}\nPhones must trust this key: {}\n",
                                    options.output, bytes.size(), sha256(bytes), key.public_key());
    }
    return 0;
}

}  // namespace waybourne::server
