/// Writes the files of the sample district: `make_district FOLDER`.

#include <exception>
#include <fstream>
#include <iostream>
#include <stdexcept>
#include <string>

#include "maps-sample/generator/district.hpp"

namespace {

void write(const std::string& path, const std::string& content) {
    std::ofstream file{path, std::ios::binary};
    file << content;
    file.close();
    if (!file) {
        throw std::runtime_error("cannot write " + path);
    }
}

}  // namespace

int main(int argument_count, char** arguments) {
    const std::string folder = argument_count == 2 ? arguments[1] : "--help";
    if (folder == "--help") {
        std::cout << "make_district FOLDER\n\nWrites the invented sample district into FOLDER. "
                     "The same files every time.\n";
        return argument_count == 2 ? 0 : 2;
    }
    try {
        for (const auto& [name, content] : waybourne::sample::make_district()) {
            std::string path = folder;
            path.append("/").append(name);
            write(path, content);
            std::cout << name << ": " << content.size() << " bytes\n";
        }
    } catch (const std::exception& problem) {
        std::cerr << problem.what() << '\n';
        return 1;
    }
    return 0;
}
