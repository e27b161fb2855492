#include "tests/server/texting_sample.hpp"

#include <doctest/doctest.h>

#include "server/program_files.hpp"
#include "tests/server/served_sample.hpp"

namespace waybourne::server::test {

namespace {

Number number_of(const char* number, const char* account, Role role, const char* facility,
                 bool practice = false) {
    Number made;
    made.number = number;
    made.caller = {account, role, {}, practice};
    if (facility != nullptr) {
        made.caller.facilities = {FacilityId{facility}};
    }
    made.added_at = parse_rfc3339(sample_now);
    return made;
}

MessagesSettings settings_with(SendingSettings sending) {
    MessagesSettings settings;
    settings.hook_secret = BearerSecret{"a-secret-that-the-gateway-shows"};
    settings.sending = sending;
    return settings;
}

}  // namespace

Keys sample_numbers() {
    return Keys{
        {},
        {number_of(hospital_number, "ward", Role::facility, "sorvrith-hospital"),
         number_of(other_hospital_number, "other-ward", Role::facility, "venzhoth-hospital"),
         number_of(driver_number, "vehicle-3", Role::driver, nullptr),
         number_of(other_driver_number, "vehicle-4", Role::driver, nullptr),
         number_of(clinic_number, "clinic", Role::health_worker, "kezhiru-clinic"),
         number_of(practice_number, "pupil", Role::facility, "sorvrith-hospital", true)}};
}

std::string sample_words_file() {
    return read_program_file(program_folder() / "server" / "messages" / "text_words.json");
}

TextWords sample_text_words() {
    return TextWords{sample_words_file(), sample_snapshot()->protocol};
}

Taken FakeGateway::send(const TextToSend& message) {
    const std::lock_guard lock{mutex_};
    sent_.push_back(message);
    if (next_.empty()) {
        return always_;
    }
    const Taken answer = next_.front();
    next_.pop_front();
    return answer;
}

void FakeGateway::answer_next(std::vector<Taken> answers) {
    const std::lock_guard lock{mutex_};
    next_.assign(answers.begin(), answers.end());
}

void FakeGateway::answer_always(Taken answer) {
    const std::lock_guard lock{mutex_};
    always_ = std::move(answer);
}

std::vector<TextToSend> FakeGateway::sent() const {
    const std::lock_guard lock{mutex_};
    return sent_;
}

std::vector<std::string> FakeGateway::texts_to(const std::string& number) const {
    const std::lock_guard lock{mutex_};
    std::vector<std::string> texts;
    for (const TextToSend& message : sent_) {
        if (message.number == number) {
            texts.push_back(message.text);
        }
    }
    return texts;
}

TextingSample::TextingSample(std::filesystem::path folder, SendingSettings settings, Keys numbers)
    : sample_(std::move(folder)), keys_(std::make_shared<const Keys>(std::move(numbers))) {
    auto gateway = std::make_unique<FakeGateway>();
    gateway_ = gateway.get();
    texting_ = std::make_unique<Texting>(
        settings_with(settings), sample_.records(), sample_.desk(), sample_.snapshot(),
        [this] { return keys_; }, sample_.clock(), log_, nullptr, std::move(gateway));
}

std::string TextingSample::open_with_vehicle(const std::string& vehicle) {
    const std::string code = sample_.open();
    const Reply reply =
        sample_.tell(code, R"({"step": "vehicle_assigned", "vehicle": ")" + vehicle + "\"}");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    return code;
}

std::string TextingSample::text(const std::string& from, const std::string& words,
                                const std::string& id) {
    return answers().answer({from, words, id}).value_or("(none)");
}

}  // namespace waybourne::server::test
