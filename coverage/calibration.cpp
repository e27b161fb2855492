#include "coverage/calibration.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

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

using Matrix = std::vector<std::vector<double>>;

double median_of(std::vector<double> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

/// The inverse of a symmetric positive definite matrix (Gauss and Jordan; it is small).
Matrix inverse(Matrix matrix) {
    const std::size_t size = matrix.size();
    Matrix result(size, std::vector<double>(size, 0));
    for (std::size_t i = 0; i < size; ++i) {
        result[i][i] = 1;
    }
    for (std::size_t i = 0; i < size; ++i) {
        const double pivot = matrix[i][i];
        for (std::size_t column = 0; column < size; ++column) {
            matrix[i][column] /= pivot;
            result[i][column] /= pivot;
        }
        for (std::size_t row = 0; row < size; ++row) {
            const double factor = row == i ? 0 : matrix[row][i];
            for (std::size_t column = 0; column < size; ++column) {
                matrix[row][column] -= factor * matrix[i][column];
                result[row][column] -= factor * result[i][column];
            }
        }
    }
    return result;
}

/// One season: shares of each journey's modelled time by class, and how many times that it took.
class Season {
public:
    explicit Season(std::span<const ObservedWay> ways, routing::Surface surface) {
        for (const ObservedWay& way : ways) {
            for (const auto& [name, seconds] : way.by_class) {
                if (way.surface == surface && seconds > 0) {
                    names_.push_back(name);
                }
            }
        }
        std::sort(names_.begin(), names_.end());
        names_.erase(std::unique(names_.begin(), names_.end()), names_.end());
        for (const ObservedWay& way : ways) {
            add(way, surface);
        }
    }

    std::vector<ClassCalibration> told(routing::Surface surface) {
        if (ratios_.empty()) {
            return {};
        }
        fit();
        std::vector<ClassCalibration> all;
        for (std::size_t k = 0; k < names_.size(); ++k) {
            ClassCalibration made{names_[k], surface, 0, {}, {}, false};
            made.journeys = static_cast<std::size_t>(
                std::count_if(shares_.begin(), shares_.end(),
                              [&](const auto& row) { return row[k] >= least_share; }));
            if (made.journeys >= fewest_told) {
                made.time_factor = factors_[k];
                made.error = errors_[k];
                made.is_offered = made.journeys >= fewest_to_calibrate &&
                                  std::abs(factors_[k] - 1) > 2 * errors_[k];
            }
            all.push_back(std::move(made));
        }
        return all;
    }

private:
    void add(const ObservedWay& way, routing::Surface surface) {
        double whole = 0;
        for (const auto& [name, seconds] : way.by_class) {
            whole += seconds;
        }
        const double took = way.took_s - way.fixed_s;
        if (way.surface != surface || !(whole > 0) || !(took > 0)) {
            return;
        }
        std::vector<double> row;
        row.reserve(names_.size());
        for (const std::string& name : names_) {
            const auto found = way.by_class.find(name);
            row.push_back(found == way.by_class.end() ? 0 : found->second / whole);
        }
        shares_.push_back(std::move(row));
        ratios_.push_back(took / whole);
    }

    double residual(std::size_t journey) const {
        return ratios_[journey] -
               std::inner_product(factors_.begin(), factors_.end(), shares_[journey].begin(), 0.0);
    }

    double spread() const {
        std::vector<double> sizes;
        for (std::size_t j = 0; j < ratios_.size(); ++j) {
            sizes.push_back(std::abs(residual(j)));
        }
        return median_of(std::move(sizes)) / median_of_normal;
    }

    /// The factors for these weights; fills `covariance_`, but for the variance of one journey.
    void solve(const std::vector<double>& weights, double start) {
        const std::size_t size = names_.size();
        Matrix normal(size, std::vector<double>(size, 0));
        std::vector<double> right(size, prior_journeys * start);
        for (std::size_t k = 0; k < size; ++k) {
            normal[k][k] = prior_journeys;
        }
        for (std::size_t j = 0; j < ratios_.size(); ++j) {
            for (std::size_t k = 0; k < size; ++k) {
                right[k] += weights[j] * shares_[j][k] * ratios_[j];
                for (std::size_t l = 0; l < size; ++l) {
                    normal[k][l] += weights[j] * shares_[j][k] * shares_[j][l];
                }
            }
        }
        covariance_ = inverse(std::move(normal));
        for (std::size_t k = 0; k < size; ++k) {
            factors_[k] =
                std::inner_product(right.begin(), right.end(), covariance_[k].begin(), 0.0);
        }
    }

    void fit() {
        const double start = median_of(ratios_);
        factors_.assign(names_.size(), start);
        std::vector<double> weights(ratios_.size(), 1);
        for (int round = 0; round < most_rounds; ++round) {
            const double far = huber * spread();
            for (std::size_t j = 0; j < weights.size(); ++j) {
                const double size = std::abs(residual(j));
                weights[j] = size <= far || size <= 0 ? 1 : far / size;
            }
            solve(weights, start);
        }
        const double one = spread();
        for (std::size_t k = 0; k < names_.size(); ++k) {
            errors_.push_back(one * std::sqrt(covariance_[k][k]));
        }
    }

    std::vector<std::string> names_;
    std::vector<std::vector<double>> shares_;
    std::vector<double> ratios_;
    std::vector<double> factors_;
    std::vector<double> errors_;
    Matrix covariance_;
};

}  // namespace

std::vector<ClassCalibration> calibrations_by_class(std::span<const ObservedWay> ways) {
    std::vector<ClassCalibration> all;
    for (const auto surface : {routing::Surface::dry, routing::Surface::wet}) {
        for (ClassCalibration& one : Season(ways, surface).told(surface)) {
            all.push_back(std::move(one));
        }
    }
    return all;
}

}  // namespace waybourne::coverage
