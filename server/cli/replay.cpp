#include "server/json/replay.hpp"

#include <algorithm>
#include <ostream>

#include "journal/open_journal.hpp"
#include "referral/referral_code.hpp"
#include "server/cli/commands.hpp"
#include "server/referrals/recorded_district.hpp"
#include "server/referrals/replay.hpp"

namespace waybourne::server {

int run_replay(const ReplayOptions& options, Terminal& terminal) {
    ReplayQuestion question;
    question.code = referral::parse_referral_code(options.code);
    question.sequence = options.entry;
    question.knowledge = options.with_today ? Knowledge::of_today : Knowledge::of_then;
    const Instant now = moment_of(options.common);
    const auto base = snapshot_of(options.common, now);
    const auto journal = journal::open_journal(options.journal, journal::Access::read);
    auto today = base;
    if (options.with_today) {
        Basis whole = basis_of(*base);
        whole.known = journal->head().sequence;
        whole.road_changes.reset();
        today = known_then(*base, *journal, whole, now).snapshot;
    }
    const auto replays = replay(*journal, *base, *today, question);
    if (options.common.json) {
        terminal.out << render_replays(question.code, replays, true) << '\n';
    } else {
        terminal.out << describe_replays(replays, {base->catalogue, base->zone, now});
    }
    const bool is_same = std::all_of(replays.begin(), replays.end(),
                                     [](const Replayed& one) { return one.is_identical(); });
    return is_same ? 0 : 1;
}

}  // namespace waybourne::server
