#pragma once
/// Files that a command writes: new ones, and never one that it reads.

#include <string>
#include <vector>

namespace waybourne::server {

/// A file and the option that names it, as the command line has both.
struct GivenFile {
    std::string option;
    std::string path;  ///< empty: not given
};

/// @throws InputError naming two options whose files are one and the same, by whatever name
void refuse_same_file(const std::vector<GivenFile>& files);

/// @throws Conflict when something has the name already
void refuse_existing(const std::string& path);

/// Whole or not at all: written beside and renamed.
/// @throws Conflict as `refuse_existing`
/// @throws Unavailable when it cannot be written
void write_new_public_file(const std::string& path, const std::string& content);

}  // namespace waybourne::server
