#include "server/referrals/shift_handover.hpp"

#include "server/json/shift_handover.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

namespace {

constexpr std::string_view subject_prefix = "shift/";
constexpr std::string_view practice_prefix = "practice-";
constexpr std::string_view real_prefix = "shift-";

}  // namespace

std::string shift_subject(const std::string& id) {
    return std::string{subject_prefix} + id;
}

std::optional<std::string> shift_in(const std::string& subject) {
    return subject.starts_with(subject_prefix)
               ? std::optional(subject.substr(subject_prefix.size()))
               : std::nullopt;
}

std::string new_shift_id(const std::string& number, bool is_practice) {
    return std::string{is_practice ? practice_prefix : real_prefix} + number;
}

bool is_of_practice(const std::string& id) {
    return id.starts_with(practice_prefix);
}

SignedList to_be_signed(ShiftList list, journal::Sequence as_of) {
    SignedList made;
    made.sha256 = sha256(to_stored(list));
    made.list = std::move(list);
    made.as_of = as_of;
    return made;
}

std::optional<SignedList> signed_list(const journal::Journal& journal, const std::string& id) {
    const auto stored = journal.read_subject(shift_subject(id), 0, 1);
    if (stored.empty() || !stored.front().body) {
        return std::nullopt;
    }
    try {
        return parse_stored_shift(*stored.front().body);
    } catch (const InputError& error) {
        throw DataError("envelope " + std::to_string(stored.front().sequence) +
                        " of the journal is no list of a shift: " + error.what());
    }
}

}  // namespace waybourne::server
