#include "tests/bench/figure.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <iostream>
#include <nlohmann/json.hpp>
#include <sstream>

namespace waybourne::bench {

namespace {

clockid_t chosen_clock = CLOCK_MONOTONIC;

}  // namespace

double clock_seconds() {
    constexpr double nanosecond = 1e-9;
    timespec now{};
    clock_gettime(chosen_clock, &now);
    return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) * nanosecond;
}

bool Arguments::wants(const std::string& name) const {
    return only.empty() || std::find(only.begin(), only.end(), name) != only.end();
}

Arguments parse_arguments(int count, char** values) {
    Arguments arguments;
    for (int i = 1; i + 1 < count; i += 2) {
        const std::string name = values[i];
        const std::string value = values[i + 1];
        if (name == "--size") {
            arguments.size = std::stoul(value);
        } else if (name == "--clock") {
            arguments.by_processor_time = value == "processor";
            chosen_clock = arguments.by_processor_time ? CLOCK_THREAD_CPUTIME_ID : CLOCK_MONOTONIC;
        } else if (name == "--network") {
            arguments.network = value;
        } else if (name == "--only") {
            std::istringstream list{value};
            for (std::string item; std::getline(list, item, ',');) {
                arguments.only.push_back(item);
            }
        } else {
            std::cerr << "unknown argument " << name << '\n';
            std::exit(2);
        }
    }
    return arguments;
}

std::optional<bool> is_met(const Figure& figure) {
    const std::size_t number = figure.goal.find_first_of("0123456789");
    if (number == std::string::npos) {
        return std::nullopt;
    }
    const double goal = std::stod(figure.goal.substr(number));
    const double reached = figure.ratio.value_or(figure.value);
    return figure.goal.starts_with(">") ? reached >= goal : reached <= goal;
}

void print(const Figure& figure) {
    nlohmann::ordered_json line{
        {"name", figure.name},
        {"what", figure.what},
        {"value", std::round(figure.value * 1000) / 1000},
        {"unit", figure.unit},
        {"against", figure.against},
        {"goal", figure.goal},
        {"network", figure.network},
    };
    if (figure.p99) {
        line["p99"] = std::round(*figure.p99 * 1000) / 1000;
    }
    if (figure.ratio) {
        line["ratio"] = std::round(*figure.ratio * 10000) / 10000;
    }
    if (const auto met = is_met(figure)) {
        line["met"] = *met;
    }
    std::cout << line.dump() << std::endl;
}

double percentile(std::vector<double> values, double share) {
    if (values.empty()) {
        return 0;
    }
    std::sort(values.begin(), values.end());
    const double place = std::ceil(share * static_cast<double>(values.size())) - 1;
    return values[static_cast<std::size_t>(std::max(0.0, place))];
}

double median(std::vector<double> values) {
    return percentile(std::move(values), 0.5);
}

void keep(std::size_t value) {
    asm volatile("" : : "r"(value) : "memory");
}

}  // namespace waybourne::bench
