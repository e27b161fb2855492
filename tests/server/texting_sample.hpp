#pragma once
/// The sample district with registered numbers, a gateway that does what a test tells it, and a
/// clock that is set by hand.

#include <deque>
#include <filesystem>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "server/application.hpp"
#include "server/messages/texting.hpp"
#include "tests/server/recorded_sample.hpp"

namespace waybourne::server::test {

/// Numbers that no country gives out: +999 is not assigned (ITU-T E.164 list, from memory).
inline constexpr const char* hospital_number = "+99955500001";
inline constexpr const char* other_hospital_number = "+99955500002";
inline constexpr const char* driver_number = "+99955500003";
inline constexpr const char* other_driver_number = "+99955500004";
inline constexpr const char* clinic_number = "+99955500005";
inline constexpr const char* practice_number = "+99955500006";
inline constexpr const char* stranger_number = "+99955500099";

Keys sample_numbers();
/// The program's own list of words, as it stands in its file.
std::string sample_words_file();
/// Of the program's own list, for the sample's protocol.
TextWords sample_text_words();

/// Takes everything unless it is told what to answer next; remembers what came.
class FakeGateway final : public MessageSender {
public:
    Taken send(const TextToSend& message) override;
    void answer_next(std::vector<Taken> answers);
    void answer_always(Taken answer);
    std::vector<TextToSend> sent() const;
    /// The texts that went to this number, in order.
    std::vector<std::string> texts_to(const std::string& number) const;

private:
    mutable std::mutex mutex_;
    std::deque<Taken> next_;
    Taken always_{Taken::Answer::taken, {}};
    std::vector<TextToSend> sent_;
};

/// A recorded sample that texts, in the thread of the test: `outbox().work()`.
class TextingSample {
public:
    explicit TextingSample(std::filesystem::path folder = {}, SendingSettings settings = {},
                           Keys numbers = sample_numbers());

    RecordedSample& sample() { return sample_; }
    SettableClock& clock() { return sample_.clock(); }
    FakeGateway& gateway() { return *gateway_; }
    Outbox& outbox() { return texting_->outbox(); }
    TextAnswers& answers() { return texting_->answers(); }
    Texting& texting() { return *texting_; }

    /// Opens a referral, with a vehicle under way to it.
    std::string open_with_vehicle(const std::string& vehicle = "vehicle-3");
    /// Text in, text out; `(none)` when nothing is sent back.
    std::string text(const std::string& from, const std::string& words, const std::string& id = "");
    std::string state(const std::string& code) { return text_at(sample_.show(code), "state"); }

private:
    RecordedSample sample_;
    Log log_{std::make_shared<std::string>()};
    std::shared_ptr<const Keys> keys_;
    FakeGateway* gateway_;
    std::unique_ptr<Texting> texting_;
};

}  // namespace waybourne::server::test
