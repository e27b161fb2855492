#pragma once
/// A dispatcher's shift handed to the next one: a list of what is open (shift_list.hpp) that the
/// one who leaves signs and the one who comes acknowledges. Both stand in the journal, under
/// `shift/ID`, and can be read again until retention erases the list; who signed and when stays.
///
/// A signature is the account of the key it was made with, the time, and the SHA-256 of the list as
/// it was read: whoever acknowledges names the same SHA-256.

#include <optional>
#include <string>

#include "journal/journal.hpp"
#include "server/referrals/shift_list.hpp"

namespace waybourne::server {

struct ShiftHandover {
    /// Grows from one to the next.
    std::string id;
    bool is_practice = false;
    std::string left_by;
    Instant left_at{};
    /// None: nobody has taken over yet.
    std::optional<std::string> taken_by = {};
    std::optional<Instant> taken_at = {};
    bool operator==(const ShiftHandover&) const = default;
};

/// What was signed.
struct SignedList {
    ShiftList list;
    /// Of the list as it is stored.
    std::string sha256;
    /// All that the journal said up to here was known.
    journal::Sequence as_of = 0;
    bool operator==(const SignedList&) const = default;
};

inline constexpr const char* shift_left_kind = "shift.left";
inline constexpr const char* shift_taken_kind = "shift.taken";

/// `shift/ID`
std::string shift_subject(const std::string& id);
/// The id in such a subject; none for others.
std::optional<std::string> shift_in(const std::string& subject);

/// An id says to which world its list belongs, so that this is known when the list is erased.
/// @param number grows from one to the next
std::string new_shift_id(const std::string& number, bool is_practice);
bool is_of_practice(const std::string& id);

/// The list with its SHA-256.
SignedList to_be_signed(ShiftList list, journal::Sequence as_of);

/// What was signed under this id; none once it is erased, or when there is no such handover.
/// @throws DataError when it cannot be read
std::optional<SignedList> signed_list(const journal::Journal& journal, const std::string& id);

}  // namespace waybourne::server
