#include <nlohmann/json.hpp>

#include "journal/internal/json.hpp"
#include "journal/internal/whole_number.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::journal::internal {

using nlohmann::json;

namespace {

/// Looks at every value and keeps none.
class DepthCheck : public json::json_sax_t {
public:
    bool null() override { return true; }
    bool boolean(bool /*value*/) override { return true; }
    bool number_integer(json::number_integer_t /*value*/) override { return true; }
    bool number_unsigned(json::number_unsigned_t /*value*/) override { return true; }
    bool number_float(json::number_float_t /*value*/, const json::string_t& /*text*/) override {
        return true;
    }
    bool string(json::string_t& /*value*/) override { return true; }
    bool binary(json::binary_t& /*value*/) override { return true; }
    bool start_object(std::size_t /*elements*/) override { return ++depth_ <= max_json_depth; }
    bool key(json::string_t& /*value*/) override { return true; }
    bool end_object() override { return --depth_ >= 0; }
    bool start_array(std::size_t /*elements*/) override { return ++depth_ <= max_json_depth; }
    bool end_array() override { return --depth_ >= 0; }
    bool parse_error(std::size_t /*position*/, const std::string& /*last_token*/,
                     const json::exception& /*error*/) override {
        return false;
    }

private:
    int depth_ = 0;
};

}  // namespace

bool is_json(std::string_view text) {
    if (text.find('\0') != std::string_view::npos) {
        return false;  // the parser would take it for the end
    }
    DepthCheck check;
    return json::sax_parse(text.begin(), text.end(), &check);
}

bool is_utf8(std::string_view text) {
    try {
        const std::string dumped = json(text).dump();
        return !dumped.empty();
    } catch (const json::type_error&) {
        return false;
    }
}

std::string redaction_body(std::string_view reason, const std::vector<Range>& ranges) {
    json body{{"reason", reason}, {"redacted", json::array()}};
    for (const auto& [first, last] : ranges) {
        body["redacted"].push_back({first, last});
    }
    return body.dump();
}

std::vector<Range> parse_redaction_body(std::string_view body) {
    try {
        std::vector<Range> ranges;
        const json record = json::parse(body);
        for (const json& range : record.at("redacted")) {
            const Range read{whole_number<Sequence>(range.at(0)),
                             whole_number<Sequence>(range.at(1))};
            if (read.first < 1 || read.second < read.first) {
                throw InputError("a range of redacted envelopes runs backwards");
            }
            ranges.push_back(read);
        }
        return ranges;
    } catch (const json::exception&) {
        throw InputError("this is not the record of a redaction");
    }
}

}  // namespace waybourne::journal::internal
