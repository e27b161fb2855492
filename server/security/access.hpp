#pragma once
/// Which role may ask what: one table, and what does not stand in it is refused.

#include <array>
#include <cstddef>
#include <initializer_list>
#include <span>
#include <string_view>

#include "server/caller.hpp"

namespace waybourne::server {

/// A set of roles, or everybody, with a key or without.
class Audience {
public:
    constexpr Audience(std::initializer_list<Role> roles) {
        for (const Role role : roles) {
            roles_ |= bit(role);
        }
    }
    static constexpr Audience anyone() {
        Audience all{};
        all.is_anyone_ = true;
        return all;
    }
    constexpr bool is_anyone() const { return is_anyone_; }
    constexpr bool has(Role role) const { return is_anyone_ || (roles_ & bit(role)) != 0; }

private:
    static constexpr unsigned bit(Role role) { return 1U << static_cast<unsigned>(role); }
    unsigned roles_ = 0;
    bool is_anyone_ = false;
};

/// ordinary: everything that can wait. urgent: what a woman's way depends on; it has a rate of its
/// own, so that polling never uses it up. file: a file of the page, of which a browser fetches many
/// at once, and a whole clinic behind one address. square: a square of the map, of which a screen
/// needs a dozen. gateway: what the gateway of text messages brings; whoever does not show its
/// secret has a stranger's pace.
enum class Pace { ordinary, urgent, file, square, gateway };

/// One row. What of a resource somebody sees is the resource's to say, by the caller's facilities.
struct Access {
    std::string_view method;
    std::string_view pattern;  ///< as in docs/openapi.yaml
    Audience audience;
    Pace pace = Pace::ordinary;
    /// Shows stored personal data: each such answer is written into the audit trail.
    bool shows_a_person = false;
};

/// Every row.
std::span<const Access> access_table();

/// Null for what is not in the table: nobody may. `HEAD` is judged as `GET`.
const Access* find_access(std::string_view method, std::string_view pattern);

}  // namespace waybourne::server
