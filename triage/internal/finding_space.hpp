#pragma once
/// Every finding a protocol can be given, in finitely many cells: what `protocol_check` walks over.
///
/// The leaves of a protocol's conditions are all that its rules can see of a finding. Two findings
/// in which every leaf has the same truth are therefore one to every rule, and it is enough to look
/// at one of each kind. Leaves of different fields do not depend on each other, except those of
/// fields that a ratio ties together. So the fields fall into dimensions (one field, or the fields
/// of a ratio), and each dimension into cells of equal truths:
/// - whole numbers, steps, signs and choices: every accepted value is tried, none is left out;
/// - other numbers: between two neighbouring limits no leaf changes, so each limit and one value
///   between each two of them stand for all;
/// - the fields of a ratio: every combination of their accepted whole numbers, taken together in
///   time or not.
/// "Not answered" is a value of every field. Nothing here is a sample.

#include <compare>
#include <cstdint>
#include <vector>

#include "triage/protocol.hpp"

namespace waybourne::triage {

/// One way to answer the fields of a dimension, in their order; not a number: not answered.
struct Tuple {
    std::vector<double> values;
    bool taken_together = true;
};

/// Fields that are looked at together, and all that the rules can tell apart about them.
struct Dimension {
    std::vector<FieldId> fields;
    std::vector<ConditionId> leaves;
    /// For each cell one tuple that lies in it. The first cell is "nothing answered".
    std::vector<Tuple> cells;
    /// For each cell the truth of each leaf.
    std::vector<std::vector<Answer>> truths;
};

/// One field changes by the smallest amount, all else stays.
struct Step {
    enum class Kind : std::uint8_t {
        worse,       ///< to the next worse value (`clinical.md` e.7)
        sign_added,  ///< a danger sign that was not answered is found
        less_known,  ///< the safer answer is taken back: not answered
    };
    Kind kind = Kind::worse;
    FieldId field = 0;
    std::size_t dimension = 0;
    std::size_t from = 0;  ///< cell before
    std::size_t to = 0;    ///< cell after, another one
    Tuple before;
    Tuple after;
};

class FindingSpace {
public:
    /// @throws InputError when fields tied by ratios have more combinations than can be tried
    explicit FindingSpace(const Protocol& protocol);

    const std::vector<Dimension>& dimensions() const { return dimensions_; }
    std::size_t dimension_of(FieldId field) const { return dimension_of_[field]; }
    /// Every step between different cells, each once for its field and kind. Because what a step
    /// may do is transitive, they stand for all changes from a value to a worse one.
    const std::vector<Step>& steps() const { return steps_; }

    /// The field standing still at its worst (the end of each direction or chain in which it gets
    /// worse), once for each cell in which that is: steps that change nothing.
    const std::vector<Step>& at_worst(FieldId field) const { return at_worst_[field]; }

    /// The dimension of a leaf and its place there. Meaningless for other conditions.
    struct LeafPlace {
        std::size_t dimension = 0;
        std::size_t leaf = 0;
    };
    LeafPlace place_of(ConditionId leaf) const { return leaf_places_[leaf]; }
    static bool is_leaf(const Condition& condition);

private:
    void tie_fields(const Protocol& protocol);
    void find_leaves(const Protocol& protocol);
    void fill(const Protocol& protocol, std::size_t dimension);
    class Combinations;
    std::vector<std::size_t> find_cells(const Protocol& protocol, Dimension& dimension,
                                        const Combinations& all) const;
    void find_steps(const Protocol& protocol, std::size_t dimension, const Combinations& all,
                    const std::vector<std::size_t>& cell_of);
    void find_worst(const Protocol& protocol, std::size_t dimension, const Combinations& all,
                    const std::vector<std::size_t>& cell_of);

    std::vector<Dimension> dimensions_;
    std::vector<std::size_t> dimension_of_;
    std::vector<LeafPlace> leaf_places_;
    std::vector<Step> steps_;
    std::vector<std::vector<Step>> at_worst_;
};

/// The accepted values of a field that stand for all of them, in order.
std::vector<double> standing_values(const Protocol& protocol, FieldId field);

/// The values at which a field is at its worst. Empty: it has no direction.
std::vector<double> worst_values(const Field& field);

/// The chains in which a sign or choice gets worse: as declared, or the order of ordered choices.
std::vector<std::vector<double>> worse_chains(const Field& field);

}  // namespace waybourne::triage
