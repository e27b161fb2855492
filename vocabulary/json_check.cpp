#include "vocabulary/json_check.hpp"

#include <nlohmann/json.hpp>
#include <set>
#include <string>
#include <vector>

#include "vocabulary/error.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne {

namespace {

constexpr std::size_t deepest = 32;
/// More names in one object are no data of ours, and would take long to compare.
constexpr std::size_t most_names = 10'000;

/// Listens to a parser that builds nothing.
class Listener final : public nlohmann::json_sax<nlohmann::json> {
public:
    bool null() override { return true; }
    bool boolean(bool /*value*/) override { return true; }
    bool number_integer(std::int64_t /*value*/) override { return true; }
    bool number_unsigned(std::uint64_t /*value*/) override { return true; }
    bool number_float(double /*value*/, const std::string& /*text*/) override { return true; }
    bool string(std::string& /*value*/) override { return true; }
    bool binary(nlohmann::json::binary_t& /*value*/) override { return true; }
    bool start_object(std::size_t /*size*/) override { return open(); }
    bool end_object() override { return close(); }
    bool start_array(std::size_t /*size*/) override { return open(); }
    bool end_array() override { return close(); }
    bool key(std::string& name) override {
        if (!open_.back().insert(name).second) {
            throw InputError("the JSON has the name '" + shortened(name) + "' twice in one object");
        }
        if (open_.back().size() > most_names) {
            throw InputError("the JSON has more than " + std::to_string(most_names) +
                             " names in one object");
        }
        return true;
    }
    bool parse_error(std::size_t byte, const std::string& /*token*/,
                     const nlohmann::detail::exception& /*error*/) override {
        throw InputError("this is no JSON: at byte " + std::to_string(byte));
    }

private:
    bool open() {
        open_.emplace_back();
        if (open_.size() > deepest) {
            throw InputError("the JSON is nested deeper than " + std::to_string(deepest));
        }
        return true;
    }
    bool close() {
        open_.pop_back();
        return true;
    }

    /// The names seen so far in each object or list that is open.
    std::vector<std::set<std::string>> open_;
};

}  // namespace

void check_json(std::string_view text) {
    Listener listener;
    nlohmann::json::sax_parse(text.begin(), text.end(), &listener);
}

}  // namespace waybourne
