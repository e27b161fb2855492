#pragma once
/// Counts what an import leaves out or assumes, with the first few examples of each.

#include <algorithm>
#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "routing/osm_import.hpp"

namespace waybourne::routing {

class Remarks {
public:
    explicit Remarks(std::size_t examples) : examples_(examples) {}

    void add(const std::string& reason, std::int64_t osm_id) {
        ImportRemark& remark = by_reason_[reason];
        ++remark.count;
        if (remark.examples.size() < examples_) {
            remark.examples.push_back(osm_id);
        }
    }

    /// Most frequent first, equally frequent by reason.
    std::vector<ImportRemark> list() const {
        std::vector<ImportRemark> result;
        for (const auto& [reason, remark] : by_reason_) {
            result.push_back({reason, remark.count, remark.examples});
        }
        std::stable_sort(
            result.begin(), result.end(),
            [](const ImportRemark& a, const ImportRemark& b) { return a.count > b.count; });
        return result;
    }

private:
    std::size_t examples_;
    std::map<std::string, ImportRemark> by_reason_;
};

}  // namespace waybourne::routing
