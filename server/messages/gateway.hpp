#pragma once
/// Whoever carries text messages to phones.

#include <string>

namespace waybourne::server {

/// One message as the gateway gets it.
struct TextToSend {
    /// Of the message, the same at every attempt: what the gateway has taken under it once, it must
    /// not send again.
    std::string id;
    std::string number;
    std::string text;
};

/// What an attempt came to.
struct Taken {
    enum class Answer {
        taken,    ///< the gateway is responsible now
        refused,  ///< this message never will be taken
        not_now,  ///< try again: nobody knows whether it was taken, or it was not
    };
    Answer answer = Answer::not_now;
    /// In a word, for people who look why: `timeout`, `http_503`, …
    std::string trouble = {};
};

/// One of the seams: a gateway over HTTP, or one of the tests'. Called from several threads.
class MessageSender {
public:
    MessageSender() = default;
    virtual ~MessageSender() = default;
    MessageSender(const MessageSender&) = delete;
    MessageSender& operator=(const MessageSender&) = delete;

    /// Never throws for what the gateway does.
    virtual Taken send(const TextToSend& message) = 0;
};

}  // namespace waybourne::server
