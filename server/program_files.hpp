#pragma once
/// Where the files that come with the program are: protocol, texts, speed table, sample.

#include <filesystem>
#include <string>

namespace waybourne::server {

/// The folder that holds them, laid out as the source tree is: beside an installed program
/// (`../share/waybourne`), above a program in a build folder, or where CMake would install it.
/// @throws DataError when they are in none of these places
std::filesystem::path program_folder();

/// The whole file.
/// @throws DataError naming the file when it cannot be read
std::string read_program_file(const std::filesystem::path& file);

}  // namespace waybourne::server
