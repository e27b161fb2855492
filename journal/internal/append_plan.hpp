#pragma once
/// What a batch of appends comes to, decided before anything is written.

#include <span>
#include <string>
#include <vector>

#include "journal/internal/group_commit.hpp"

namespace waybourne::journal::internal {

/// What is stored already.
class Stored {
public:
    Stored() = default;
    virtual ~Stored() = default;
    Stored(const Stored&) = delete;
    Stored& operator=(const Stored&) = delete;
    virtual Sequence version(const std::string& subject) = 0;
    /// In order of their parts; empty when the key is new.
    virtual std::vector<Envelope> under_key(const std::string& who, const std::string& key) = 0;
};

/// The envelopes to be written after `head`, in order. Each request gets its result or its error as
/// if the requests came one after the other.
std::vector<Envelope> plan_appends(const Head& head, std::span<Request* const> requests,
                                   Stored& stored);

/// Gives an envelope its place in the chain and its salt.
/// @param envelope with header and body
Envelope seal(const Head& before, Envelope envelope);

}  // namespace waybourne::journal::internal
