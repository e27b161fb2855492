/// Settlements, sub-districts, monthly counts, upgrade costs, capacities and indicator profiles
/// from anywhere: whatever the bytes are, they are read or refused. The first byte chooses the
/// reader; the rest is the text.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "coverage/capacities.hpp"
#include "coverage/indicator.hpp"
#include "coverage/settlement_file.hpp"
#include "coverage/upgrade_costs.hpp"
#include "tests/fuzz/attempt.hpp"

namespace {

using namespace waybourne;
using namespace waybourne::coverage;

void expect(bool holds) {
    if (!holds) {
        std::abort();
    }
}

void use(const std::vector<Settlement>& settlements) {
    for (const Settlement& one : settlements) {
        expect(one.births_per_year >= 0 && !one.id.value().empty());
    }
    expect(area_totals(settlements, {}).size() <= 1);
}

void use(const std::vector<MonthlyCount>& months) {
    for (const MonthlyCount& row : months) {
        expect(find_month(to_text(row.month)) == row.month);
        expect(!row.counts.births || *row.counts.births >= 0);
    }
}

void read_one(std::uint8_t reader, std::string_view text) {
    SettlementImport options;
    options.births_per_1000 = 30;
    switch (reader % 6) {
        case 0:
            use(read_settlements_geojson(text, options));
            break;
        case 1:
            use(read_settlements_csv(text, options));
            break;
        case 2:
            for (const Area& area : read_areas(text)) {
                contains(area, GeoPoint{Latitude{0}, Longitude{0}});
            }
            break;
        case 3:
            use(read_monthly_counts(text));
            break;
        case 4:
            if (text.starts_with("facility,births_per_year")) {
                for (const Capacity& one : read_capacities(text)) {
                    expect(one.births_per_year >= 0);
                }
                break;
            }
            for (const UpgradeCost& cost : read_upgrade_costs(text)) {
                expect(cost.capital >= 0 && cost.running >= 0);
            }
            break;
        default:
            expect(indicators(parse_indicator_profile(text), {}).size() == indicator_count);
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::attempt_chosen(data, size, read_one);
    return 0;
}
