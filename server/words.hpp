#pragma once
/// Messages as words for a person in one place: in the district's language and by its clocks.

#include <string>
#include <vector>

#include "triage/capability.hpp"
#include "vocabulary/message.hpp"
#include "vocabulary/time.hpp"
#include "vocabulary/time_zone.hpp"

namespace waybourne::server {

/// Turns messages into sentences. Instants among a message's values (RFC 3339 in UTC) come out as
/// the clock on the wall shows them: `07:00`, and with the day when that is not today; capabilities
/// among them come out as the catalogue names them.
class Words {
public:
    Words(const Catalogue& catalogue, const TimeZone& zone, Instant now)
        : catalogue_(catalogue), zone_(zone), now_(now) {}

    std::string text(const Message& message) const;
    std::vector<std::string> texts(const std::vector<Message>& messages) const;
    /// `14:05`, or `Thu 5 March 07:00` on another day than now.
    std::string clock(Instant instant) const;
    /// `1 hour 5 minutes`, rounded up to whole minutes; below a minute `1 minute`. Not negative.
    std::string span(Seconds span) const;
    /// The capability in plain words, e.g. `caesarean`.
    std::string capability(triage::Capability capability) const;
    std::string capabilities(triage::CapabilitySet any_of) const;
    Instant now() const { return now_; }

private:
    std::string counted(std::int64_t count, const char* unit) const;

    const Catalogue& catalogue_;
    const TimeZone& zone_;
    Instant now_;
};

}  // namespace waybourne::server
