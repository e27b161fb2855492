#pragma once
/// State worked out from the journal, and kept so that the next start is quick.
///
/// A fold says how one envelope changes a state. `load` gives the state of the whole journal, from
/// the last saved snapshot and what came after it; `catch_up` follows what is new; `save` keeps a
/// snapshot. When something is redacted, the state is worked out anew from the beginning, so that
/// it holds nothing that was erased.

#include <functional>
#include <string>

#include "journal/journal.hpp"

namespace waybourne::journal {

/// The rules of one fold. Pure: the same envelopes always give the same state. A redacted envelope
/// has no body: `apply` must say what remains of it.
template <typename State>
struct Fold {
    std::string name;
    int version =
        1;  ///< raise it when `apply` or the written form changes: old snapshots are ignored
    std::function<void(State&, const Envelope&)> apply;
    std::function<std::string(const State&)> write;
    /// @throws InputError when it cannot read what `write` once wrote: the snapshot is ignored
    std::function<State(const std::string&)> read;
};

/// A state and how far in the journal it goes.
template <typename State>
struct Folded {
    State state{};
    Head head{};
    /// Redactions up to here are in the state; a later one means starting anew.
    Sequence settled = 0;
};

namespace internal {

inline constexpr std::size_t fold_page = 1000;

/// @return false when something was redacted that the state may still hold
template <typename State>
bool apply_new(const Journal& journal, const Fold<State>& fold, Folded<State>& folded) {
    for (auto envelopes = journal.read(folded.head.sequence, fold_page); !envelopes.empty();
         envelopes = journal.read(folded.head.sequence, fold_page)) {
        for (const Envelope& envelope : envelopes) {
            if (envelope.kind == redacted_kind && envelope.sequence > folded.settled) {
                return false;
            }
            fold.apply(folded.state, envelope);
            folded.head = {envelope.sequence, envelope.hash};
        }
    }
    return true;
}

}  // namespace internal

/// Applies what is new in the journal. O(new envelopes); all of them after a redaction.
/// @throws as `Journal::read` and `apply` do
template <typename State>
void catch_up(const Journal& journal, const Fold<State>& fold, Folded<State>& folded) {
    while (!internal::apply_new(journal, fold, folded)) {
        folded = {};
        folded.settled = journal.version(journal_subject);
    }
}

/// The state of the whole journal.
template <typename State>
Folded<State> load(const Journal& journal, const Fold<State>& fold) {
    Folded<State> folded;
    folded.settled = journal.version(journal_subject);
    if (const auto snapshot = journal.load_snapshot(fold.name, fold.version)) {
        try {
            folded.state = fold.read(snapshot->state);
            folded.head = snapshot->head;
        } catch (const InputError&) {
            folded.state =
                State{};  // a snapshot only saves time: without it we start from the first
        }
    }
    catch_up(journal, fold, folded);
    return folded;
}

/// @return whether it was kept: not when something was redacted meanwhile
template <typename State>
bool save(Journal& journal, const Fold<State>& fold, const Folded<State>& folded) {
    return journal.save_snapshot({fold.name, fold.version, folded.head, fold.write(folded.state)});
}

/// Gives each envelope after `seen` to `visit`, in order, those that are there and those that come,
/// until a stop is requested. Blocks; belongs on a thread of its own.
/// @throws as `Journal::read` and `visit` do
void follow(const Journal& journal, Sequence seen, const std::stop_token& stop,
            const std::function<void(const Envelope&)>& visit);

}  // namespace waybourne::journal
