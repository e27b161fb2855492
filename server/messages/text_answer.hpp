#pragma once
/// What somebody on a plain phone says in a text, and the one text that answers it.
///
/// | who            | digit | means                    | step told                              |
/// |----------------|-------|--------------------------|----------------------------------------|
/// | driver         | 7     | got it                   | the order counts as answered           |
/// |                | 5     | set out                  | transport_sent                         |
/// |                | 6     | with her                 | with_the_woman                         |
/// |                | 1     | left with her            | departed                               |
/// |                | 2     | arrived                  | arrived                                |
/// |                | 3     | cannot go                | an alert                               |
/// |                | 4     | she is worse             | an alert                               |
/// | health worker  | 1 to 4| as the driver            | as the driver                          |
/// | facility       | 1     | ready for her            | accepted                               |
/// |                | 2     | she is here              | arrived                                |
/// |                | 3     | cannot take her          | declined                               |
///
/// Of the driver who takes her over on the way they are the steps of his vehicle. Whatever he sends
/// about her answers his order too.
///
/// 1 to 4 are those of clinical.md, i.1; 5 to 7 are ours. A code may stand before or after the
/// digit and must when several cases are open. A facility may also say `READY surgeon`, `NOT READY
/// blood until 18:00` or `no blood until 18:00`. What a health worker or a facility writes about a
/// woman is answered with a recommendation (text_cases.hpp). Anything else is answered with what
/// can be said.
///
/// Only a registered number changes anything; every other is answered politely, a few times.

#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "server/messages/text_cases.hpp"
#include "server/referrals/desk.hpp"
#include "server/security/audit.hpp"
#include "server/security/keys.hpp"
#include "server/security/limits.hpp"
#include "server/words.hpp"

namespace waybourne::server {

/// Safe from any thread.
class TextAnswers {
public:
    using KeysNow = std::function<std::shared_ptr<const Keys>()>;

    /// @param words the content of `text_words.json`
    /// @param audit null: nothing is noted
    TextAnswers(Records& records, Desk& desk, const Current<Snapshot>& snapshot, KeysNow keys,
                const Clock& clock, std::string words, AuditTrail* audit = nullptr);

    /// The text to send back, in the alphabet of text messages, two of them at most; none: nothing
    /// is sent back, since this number has been answered often enough.
    /// @throws Unavailable when nothing can be stored: the gateway is to bring the text again;
    ///         HttpRefusal 422 when the id came before with another text
    std::optional<std::string> answer(const IncomingText& text);

private:
    struct Said;
    std::string answer_to(const Caller& caller, const IncomingText& text);
    std::string answer_words(const Caller& caller, const IncomingText& text, const Said& said,
                             const Snapshot& snapshot);
    std::string tell(const Caller& caller, const Said& said) const;
    std::string tell_step(const Caller& caller, const Said& said, const std::string& code,
                          referral::EventKind kind) const;
    std::string take_order(const Caller& caller, const std::string& code) const;
    std::optional<std::string> take_orders(const Caller& caller, int digit,
                                           const std::vector<std::string>& open) const;
    std::string take_on(const Caller& caller, const Said& said, const std::string& code) const;
    std::string raise_alert(const Caller& caller, const Said& said, const std::string& code,
                            const std::string& what) const;
    std::string noted(const Caller& caller, const ReferralRecord& record, Instant at) const;
    std::string not_possible(const Caller& caller, const std::string& code) const;
    std::vector<std::string> open_cases(const Caller& caller) const;
    std::optional<std::string> case_told_before(const Caller& caller, const Said& said) const;

    Records& records_;
    Desk& desk_;
    const Current<Snapshot>& snapshot_;
    KeysNow keys_;
    const Clock& clock_;
    AuditTrail* audit_;
    RateLimiter known_;
    RateLimiter unknown_;
    TextCases cases_;
};

}  // namespace waybourne::server
