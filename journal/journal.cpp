#include "journal/journal.hpp"

namespace waybourne::journal {

VersionConflict::VersionConflict(std::string subject, Sequence expected, Sequence actual)
    : Conflict("the last event of " + subject + " is " + std::to_string(actual) + ", not " +
               std::to_string(expected) + ": somebody else was faster"),
      subject_(std::move(subject)),
      expected_(expected),
      actual_(actual) {}

KeyReused::KeyReused(Sequence first)
    : Conflict("this idempotency key was used before, for something else: see event " +
               std::to_string(first)),
      first_(first) {}

}  // namespace waybourne::journal
