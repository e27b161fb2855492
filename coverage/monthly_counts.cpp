#include <fmt/format.h>

#include <charconv>
#include <set>

#include "coverage/indicator.hpp"
#include "coverage/internal/rows.hpp"

namespace waybourne::coverage {

namespace {

struct Column {
    const char* name;
    std::optional<double> Counts::*count;
};

constexpr std::array<Column, 7> columns{{{"births", &Counts::births},
                                         {"caesareans", &Counts::caesareans},
                                         {"complications", &Counts::complications},
                                         {"direct_deaths", &Counts::direct_deaths},
                                         {"indirect_deaths", &Counts::indirect_deaths},
                                         {"intrapartum_deaths", &Counts::intrapartum_deaths},
                                         {"first_day_deaths", &Counts::first_day_deaths}}};

/// More than any facility has in a month (a slip of data entry).
constexpr double most_of_a_month = 100'000;

}  // namespace

std::string to_text(Month month) {
    return fmt::format("{:04}-{:02}", month.number / 12, month.number % 12 + 1);
}

std::optional<Month> find_month(std::string_view text) {
    if (text.size() != 7 || text[4] != '-') {
        return std::nullopt;
    }
    const auto number = [&](std::string_view part) {
        int value = -1;
        const auto [end, error] = std::from_chars(part.data(), part.data() + part.size(), value);
        return error == std::errc{} && end == part.data() + part.size() ? value : -1;
    };
    const int year = number(text.substr(0, 4));
    const int month = number(text.substr(5));
    return year >= 0 && month >= 1 && month <= 12 ? std::optional(Month{year * 12 + month - 1})
                                                  : std::nullopt;
}

std::vector<MonthlyCount> read_monthly_counts(std::string_view csv) {
    Columns known{{"facility", "month"}, {"facility", "month"}};
    for (const Column& column : columns) {
        known.known.emplace_back(column.name);
    }
    std::vector<Row> rows = rows_of_csv(csv, known);
    std::vector<MonthlyCount> all;
    std::set<std::pair<FacilityId, Month>> seen;
    for (Row& row : rows) {
        if (row.values.empty() && !row.problems().empty()) {
            continue;
        }
        MonthlyCount made;
        made.facility = FacilityId(row.id("facility"));
        const auto month = find_month(row.text("month"));
        if (!month) {
            row.note("month", "'" + row.text("month") + "' is not a month such as 2026-03");
        }
        made.month = month.value_or(Month{});
        for (const Column& column : columns) {
            made.counts.*column.count = row.number(column.name, 0, most_of_a_month);
        }
        if (month && !seen.insert({made.facility, made.month}).second) {
            row.note("",
                     made.facility.value() + " has a row for " + to_text(made.month) + " already");
        }
        all.push_back(std::move(made));
    }
    refuse_bad(rows);
    return all;
}

MonthlySum sum_of(std::span<const MonthlyCount> rows, std::span<const FacilityId> facilities,
                  Month first, Month last) {
    std::map<std::pair<FacilityId, Month>, const MonthlyCount*> by_month;
    for (const MonthlyCount& row : rows) {
        by_month[{row.facility, row.month}] = &row;
    }
    MonthlySum made;
    for (const FacilityId& facility : facilities) {
        for (Month month = first; month <= last; ++month.number) {
            const auto found = by_month.find({facility, month});
            const std::string where = facility.value() + " " + to_text(month);
            if (found == by_month.end()) {
                made.missing.push_back(where);
                continue;
            }
            for (const Column& column : columns) {
                const auto& cell = found->second->counts.*column.count;
                auto& sum = made.counts.*column.count;
                if (cell) {
                    sum = sum.value_or(0) + *cell;
                } else {
                    made.missing.push_back(where + " " + column.name);
                }
            }
        }
    }
    return made;
}

}  // namespace waybourne::coverage
