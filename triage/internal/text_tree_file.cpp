#include <nlohmann/json.hpp>

#include "triage/internal/text_tree.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::triage {

namespace {

/// Builds the tree as the parser reports values, without recursion.
class TreeBuilder : public nlohmann::json_sax<nlohmann::json> {
public:
    bool null() override { return put({}); }
    bool boolean(bool value) override { return put({value}); }
    bool number_integer(number_integer_t value) override {
        return put({static_cast<double>(value)});
    }
    bool number_unsigned(number_unsigned_t value) override {
        return put({static_cast<double>(value)});
    }
    bool number_float(number_float_t value, const string_t&) override { return put({value}); }
    bool string(string_t& value) override { return put({std::move(value)}); }
    bool binary(binary_t&) override { return false; }
    bool start_object(std::size_t) override { return open({TextTree::Object{}}); }
    bool start_array(std::size_t) override { return open({TextTree::List{}}); }
    bool end_object() override { return close(); }
    bool end_array() override { return close(); }

    bool key(string_t& name) override {
        if (open_.back().find(name) != nullptr) {
            problem = "the key '" + shortened(name, 60) + "' stands twice in one object";
            return false;
        }
        std::get<TextTree::Object>(open_.back().value).emplace_back(std::move(name), TextTree{});
        return true;
    }

    bool parse_error(std::size_t position, const std::string&,
                     const nlohmann::json::exception& error) override {
        problem = "not JSON at byte " + std::to_string(position) + ": " + error.what();
        return false;
    }

    TextTree root;
    std::string problem;

private:
    static constexpr std::size_t deepest = 40;

    bool put(TextTree tree) {
        if (open_.empty()) {
            root = std::move(tree);
        } else if (auto* list = std::get_if<TextTree::List>(&open_.back().value)) {
            list->push_back(std::move(tree));
        } else {
            std::get<TextTree::Object>(open_.back().value).back().second = std::move(tree);
        }
        return true;
    }

    bool open(TextTree tree) {
        if (open_.size() == deepest) {
            problem = "nested deeper than " + std::to_string(deepest);
            return false;
        }
        open_.push_back(std::move(tree));
        return true;
    }

    bool close() {
        TextTree finished = std::move(open_.back());
        open_.pop_back();
        return put(std::move(finished));
    }

    std::vector<TextTree> open_;
};

}  // namespace

TextTree parse_text_tree(std::string_view json) {
    TreeBuilder builder;
    if (!nlohmann::json::sax_parse(json, &builder)) {
        throw InputError("the file cannot be read", {{"#", builder.problem}});
    }
    return std::move(builder.root);
}

}  // namespace waybourne::triage
