#include "coverage/calibration.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <iterator>
#include <set>

namespace waybourne::coverage {

namespace {

/// What each class starts with, in journeys.
constexpr double prior_journeys = 1;
/// From memory of Huber 1964: 95 % as good as least squares where nothing is far off.
constexpr double huber = 1.345;
/// Of a normal distribution: the median of the absolute value ÷ the standard deviation.
constexpr double median_of_normal = 0.6745;
constexpr double least_share = 0.1;
constexpr int most_rounds = 30;

double median_of(std::vector<double> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

using routing::Light;

/// A class of road, by day, at night, or both together: one factor is worked out for it.
struct Column {
    std::string road_class;
    std::optional<Light> light;

    bool counts_for(Light then) const { return !light || *light == then; }
};

/// How much of a journey in a vehicle was on that class of road.
double share_on(const ObservedWay& way, const std::string& road_class) {
    double whole = 0;
    for (const auto& [name, seconds] : way.by_class) {
        whole += seconds;
    }
    const auto found = way.by_class.find(road_class);
    return found == way.by_class.end() || !(whole > 0) ? 0 : found->second / whole;
}

std::size_t journeys_on(const std::vector<ObservedWay>& ways, const Column& column) {
    return static_cast<std::size_t>(
        std::count_if(ways.begin(), ways.end(), [&](const ObservedWay& way) {
            return column.counts_for(way.light) && share_on(way, column.road_class) >= least_share;
        }));
}

/// Journeys of one season that say something of speeds.
std::vector<ObservedWay> ways_of(std::span<const ObservedWay> ways, routing::Surface surface) {
    std::vector<ObservedWay> all;
    std::copy_if(ways.begin(), ways.end(), std::back_inserter(all), [&](const ObservedWay& way) {
        const bool has_road = std::any_of(way.by_class.begin(), way.by_class.end(),
                                          [](const auto& one) { return one.second > 0; });
        return way.surface == surface && has_road && way.took_s > way.fixed_s;
    });
    return all;
}

/// Two columns for each class that enough journeys used by day and enough at night, else one.
std::vector<Column> columns_of(const std::vector<ObservedWay>& ways) {
    std::set<std::string> names;
    for (const ObservedWay& way : ways) {
        for (const auto& [name, seconds] : way.by_class) {
            if (seconds > 0) {
                names.insert(name);
            }
        }
    }
    std::vector<Column> columns;
    for (const std::string& name : names) {
        const Column day{name, Light::day};
        const Column night{name, Light::night};
        if (journeys_on(ways, day) >= fewest_to_calibrate &&
            journeys_on(ways, night) >= fewest_to_calibrate) {
            columns.insert(columns.end(), {day, night});
        } else {
            columns.push_back({name, {}});
        }
    }
    return columns;
}

/// Shares of each journey's modelled time by column, and how many times that it took.
struct Season {
    Eigen::MatrixXd shares;
    Eigen::VectorXd ratios;
};

Season season_of(const std::vector<ObservedWay>& ways, const std::vector<Column>& columns) {
    const auto rows = static_cast<Eigen::Index>(ways.size());
    Season season{Eigen::MatrixXd::Zero(rows, static_cast<Eigen::Index>(columns.size())),
                  Eigen::VectorXd(rows)};
    for (Eigen::Index row = 0; row < rows; ++row) {
        const ObservedWay& way = ways[static_cast<std::size_t>(row)];
        double whole = 0;
        for (const auto& [name, seconds] : way.by_class) {
            whole += seconds;
        }
        season.ratios[row] = (way.took_s - way.fixed_s) / whole;
        for (std::size_t k = 0; k < columns.size(); ++k) {
            if (columns[k].counts_for(way.light)) {
                season.shares(row, static_cast<Eigen::Index>(k)) =
                    share_on(way, columns[k].road_class);
            }
        }
    }
    return season;
}

struct Fit {
    Eigen::VectorXd factors;
    Eigen::VectorXd errors;
};

/// Of the residuals, from their median.
double spread_of(const Eigen::VectorXd& residuals) {
    const Eigen::VectorXd sizes = residuals.cwiseAbs();
    return median_of({sizes.begin(), sizes.end()}) / median_of_normal;
}

Fit fit(const Season& season) {
    const Eigen::Index size = season.shares.cols();
    const double start = median_of({season.ratios.begin(), season.ratios.end()});
    Eigen::VectorXd factors = Eigen::VectorXd::Constant(size, start);
    Eigen::MatrixXd covariance;  // but for the variance of one journey
    for (int round = 0; round < most_rounds; ++round) {
        const Eigen::VectorXd residuals = season.ratios - season.shares * factors;
        const double far = huber * spread_of(residuals);
        const Eigen::VectorXd weights = residuals.unaryExpr(
            [&](double off) { return std::abs(off) <= far || off == 0 ? 1 : far / std::abs(off); });
        const Eigen::MatrixXd weighted = weights.asDiagonal() * season.shares;
        const Eigen::MatrixXd normal = season.shares.transpose() * weighted +
                                       prior_journeys * Eigen::MatrixXd::Identity(size, size);
        covariance = normal.llt().solve(Eigen::MatrixXd::Identity(size, size));
        factors = covariance * (weighted.transpose() * season.ratios +
                                Eigen::VectorXd::Constant(size, prior_journeys * start));
    }
    const double one = spread_of(season.ratios - season.shares * factors);
    return {factors, one * covariance.diagonal().cwiseSqrt()};
}

}  // namespace

std::vector<ClassCalibration> calibrations_by_class(std::span<const ObservedWay> ways) {
    std::vector<ClassCalibration> all;
    for (const auto surface : {routing::Surface::dry, routing::Surface::wet}) {
        const std::vector<ObservedWay> some = ways_of(ways, surface);
        if (some.empty()) {
            continue;
        }
        const std::vector<Column> columns = columns_of(some);
        const Fit told = fit(season_of(some, columns));
        for (std::size_t k = 0; k < columns.size(); ++k) {
            ClassCalibration made{
                columns[k].road_class, surface, journeys_on(some, columns[k]), {}, {}, false,
                columns[k].light};
            if (made.journeys >= fewest_told) {
                const double factor = told.factors[static_cast<Eigen::Index>(k)];
                const double error = told.errors[static_cast<Eigen::Index>(k)];
                made.time_factor = factor;
                made.error = error;
                made.is_offered =
                    made.journeys >= fewest_to_calibrate && std::abs(factor - 1) > 2 * error;
            }
            all.push_back(std::move(made));
        }
    }
    return all;
}

}  // namespace waybourne::coverage
