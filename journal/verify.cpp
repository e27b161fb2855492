#include "journal/verify.hpp"

#include <algorithm>

#include "journal/internal/json.hpp"

namespace waybourne::journal {

namespace {

constexpr std::size_t page = 1000;

}  // namespace

bool ChainVerifier::continues(const Envelope& envelope) const {
    return last_ && last_->part + 1 == envelope.part && last_->parts == envelope.parts &&
           last_->who == envelope.who && last_->at == envelope.at &&
           last_->idempotency_key == envelope.idempotency_key;
}

std::optional<std::string> ChainVerifier::wrong_with_content(const Envelope& envelope) {
    if (envelope.body.has_value() != envelope.salt.has_value()) {
        return "has only one of salt and body";
    }
    const bool is_record = envelope.kind == redacted_kind;
    if (!envelope.body) {
        return is_record ? std::optional("the record of a redaction has lost its body")
                         : std::nullopt;
    }
    if (content_hash(*envelope.salt, *envelope.body) != envelope.content_hash) {
        return "the body is not the one that was stored";
    }
    if (!is_record) {
        return std::nullopt;
    }
    try {
        for (const Range& range : internal::parse_redaction_body(*envelope.body)) {
            if (range.second >= envelope.sequence) {
                return "records the redaction of what came later";
            }
            recorded_.push_back(range);
        }
    } catch (const InputError& error) {
        return error.what();
    }
    return std::nullopt;
}

std::optional<std::string> ChainVerifier::wrong_with(const Envelope& envelope) {
    if (envelope.sequence != head_.sequence + 1) {
        return "follows " + std::to_string(head_.sequence) + ": envelopes between are missing";
    }
    if (chain_hash(head_.hash, envelope) != envelope.hash) {
        return "the hash does not follow from the header and the envelope before";
    }
    const bool is_within = last_ && last_->part < last_->parts;
    if (envelope.parts < 1 || (is_within ? !continues(envelope) : envelope.part != 1)) {
        return "does not continue what was stored together with the envelope before";
    }
    return wrong_with_content(envelope);
}

std::optional<Fault> ChainVerifier::add(const Envelope& envelope) {
    if (const auto wrong = wrong_with(envelope)) {
        return Fault{envelope.sequence, *wrong};
    }
    head_ = {envelope.sequence, envelope.hash};
    if (envelope.is_redacted()) {
        ++redacted_;
        if (!missing_.empty() && missing_.back().second + 1 == envelope.sequence) {
            missing_.back().second = envelope.sequence;
        } else {
            missing_.emplace_back(envelope.sequence, envelope.sequence);
        }
    }
    last_ = envelope;
    last_->body.reset();
    return std::nullopt;
}

std::optional<Fault> ChainVerifier::finish() {
    if (last_ && last_->part < last_->parts) {
        return Fault{head_.sequence, "the rest of what was stored together with it is missing"};
    }
    std::sort(recorded_.begin(), recorded_.end());
    auto record = recorded_.begin();
    for (auto [next, last] : missing_) {
        while (next <= last) {
            while (record != recorded_.end() && record->second < next) {
                ++record;
            }
            if (record == recorded_.end() || record->first > next) {
                return Fault{next, "the body is missing, and no redaction accounts for it"};
            }
            next = record->second + 1;
        }
    }
    return std::nullopt;
}

Verdict verify(const Journal& journal, const std::optional<Head>& known, const Progress& progress) {
    ChainVerifier chain;
    const auto total = static_cast<double>(std::max<Sequence>(1, journal.head().sequence));
    const auto verdict = [&](std::optional<Fault> fault) {
        return Verdict{chain.head().sequence, chain.redacted(), chain.head(), std::move(fault)};
    };
    try {
        for (auto envelopes = journal.read(0, page); !envelopes.empty();
             envelopes = journal.read(chain.head().sequence, page)) {
            for (const Envelope& envelope : envelopes) {
                if (auto fault = chain.add(envelope)) {
                    return verdict(fault);
                }
                if (known && known->sequence == envelope.sequence && known->hash != envelope.hash) {
                    return verdict(Fault{envelope.sequence, "the hash is not the known one"});
                }
            }
            report(progress, "verifying",
                   std::min(1.0, static_cast<double>(chain.head().sequence) / total));
        }
    } catch (const DataError& error) {
        return verdict(Fault{chain.head().sequence + 1, error.what()});
    }
    if (known && known->sequence > chain.head().sequence) {
        return verdict(
            Fault{chain.head().sequence + 1, "is missing: the journal ends before the known head " +
                                                 std::to_string(known->sequence)});
    }
    return verdict(chain.finish());
}

}  // namespace waybourne::journal
