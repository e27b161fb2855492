#pragma once
/// Recommendations by text message: what somebody writes about a woman is answered with where, by
/// when and whom to phone, in at most two messages.
///
/// | she writes              | what happens                                                     |
/// |-------------------------|------------------------------------------------------------------|
/// | findings, in any order  | they are answered as case A (B, C …), with what was not          |
/// |                         | understood and the one question that matters most                |
/// | `A yes`, `A no`         | her answer counts, and the case is answered again                |
/// | `A go`                  | the referral is opened                                           |
///
/// The letter may be left out while only one case waits. Letters go on through the alphabet, so
/// that one that no longer waits comes again only after all others: a late reply acts on no other
/// woman. Eight cases wait at once; a ninth takes the place of the oldest that was sent, else of
/// the oldest, and the answer says whose letter is over if she was not sent. A case waits in memory
/// only, for two hours at most: nothing of it is stored before a referral is opened, and after a
/// restart, or on another server, she has to write again.

#include <deque>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>

#include "server/answer.hpp"
#include "server/clock.hpp"
#include "server/current.hpp"
#include "server/messages/findings_text.hpp"
#include "server/messages/text_words.hpp"
#include "server/referrals/desk.hpp"

namespace waybourne::server {

/// A text as the gateway brings it.
struct IncomingText {
    std::string from;
    std::string text;
    /// The gateway's own id, so that one that comes twice counts once; empty: it has none.
    std::string id = {};
};

/// Safe from any thread.
class TextCases {
public:
    /// @param words the content of `text_words.json`
    TextCases(std::string words, Desk& desk, const Current<Snapshot>& snapshot, const Clock& clock);

    /// None when the text says nothing of a woman.
    /// @throws Unavailable
    std::optional<std::string> answer(const Caller& caller, const IncomingText& text);

    /// The words in force, for the protocol in force.
    std::shared_ptr<const TextWords> words(const Snapshot& snapshot);

private:
    struct Case {
        char letter = 'A';
        Instant at{};
        TextedFindings read;
        std::string text_id = {};
        /// The field that was asked about last; empty: none.
        std::string asked = {};
        bool is_sent = false;
        /// The case that had to go for this one; told until she replies.
        std::optional<char> dropped = {};
    };
    /// Of one account.
    struct Waiting {
        std::deque<Case> cases;
        char last_letter = {};  ///< none was given yet
    };
    struct Reply {
        std::optional<char> letter;
        WordUse use = WordUse::none;
    };

    std::optional<Reply> reply_in(const TextWords& words, const std::string& text) const;
    std::string answer_reply(const Caller& caller, const Reply& reply, const IncomingText& text,
                             const Snapshot& snapshot);
    std::string answer_case(const Caller& caller, Case& about, const Snapshot& snapshot) const;
    std::string open(const Caller& caller, const Case& about, const IncomingText& text,
                     const Snapshot& snapshot);
    /// The case that is meant; none, and the answer to give instead, when it cannot be said.
    std::pair<std::optional<Case>, std::string> find(const Caller& caller, const Reply& reply,
                                                     const Snapshot& snapshot);
    Case& keep(const std::string& who, Case about);
    /// The case itself and not a copy; null when it no longer waits. Under the lock.
    Case* find_same(const std::string& who, const Case& about);

    std::string words_json_;
    Desk& desk_;
    const Current<Snapshot>& snapshot_;
    const Clock& clock_;

    mutable std::mutex mutex_;
    std::map<std::string, Waiting> waiting_;
    std::string words_for_;  ///< the protocol's SHA-256
    std::shared_ptr<const TextWords> words_;
};

}  // namespace waybourne::server
