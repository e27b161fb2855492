#pragma once
/// What can go wrong, in the few kinds that the edge tells apart. A "no" that a user must hear is
/// a value, not an exception; these are for functions that cannot keep their promise.

#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

namespace waybourne {

/// One thing wrong with an input: where (an RFC 6901 JSON pointer as a URI fragment, `#/from`, or
/// `line 12` in a text file) and what, in words: what was given and what is allowed.
struct FieldError {
    std::string pointer;
    std::string detail;
    bool operator==(const FieldError&) const = default;
};

/// A request or an imported file is malformed or out of range. Carries every error found.
class InputError : public std::runtime_error {
public:
    explicit InputError(const std::string& what) : std::runtime_error(what) {}
    InputError(const std::string& what, std::vector<FieldError> fields)
        : std::runtime_error(what), fields_(std::move(fields)) {}
    /// Empty when the whole input is meant.
    const std::vector<FieldError>& fields() const { return fields_; }

private:
    std::vector<FieldError> fields_;
};

/// An id that does not exist.
class NotFound : public std::runtime_error {
public:
    using std::runtime_error::runtime_error;
};

/// The state forbids it, e.g. a step out of order.
class Conflict : public std::runtime_error {
public:
    using std::runtime_error::runtime_error;
};

/// Our own stored file is damaged or foreign: says which file, where in it, and why.
class DataError : public std::runtime_error {
public:
    using std::runtime_error::runtime_error;
};

/// Not ready yet, or busy; trying again later may help.
class Unavailable : public std::runtime_error {
public:
    using std::runtime_error::runtime_error;
};

}  // namespace waybourne
