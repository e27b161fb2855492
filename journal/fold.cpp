#include "journal/fold.hpp"

namespace waybourne::journal {

void follow(const Journal& journal, Sequence seen, const std::stop_token& stop,
            const std::function<void(const Envelope&)>& visit) {
    constexpr std::chrono::hours long_time{1};
    while (!stop.stop_requested()) {
        if (journal.wait_beyond(seen, long_time, stop) <= seen) {
            continue;
        }
        for (const Envelope& envelope : journal.read(seen, internal::fold_page)) {
            if (stop.stop_requested()) {
                return;
            }
            visit(envelope);
            seen = envelope.sequence;
        }
    }
}

}  // namespace waybourne::journal
