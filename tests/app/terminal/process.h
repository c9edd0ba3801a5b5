// Runs the real program as a user would, with no display.
#pragma once

#include <chrono>
#include <filesystem>
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace macle::test {

struct Outcome {
    int status = -1;  // exit status; 128 + signal when killed
    std::string out;
    std::string error;
    std::chrono::duration<double> afterSignal{0.0};

    nlohmann::json json() const;  // of `out`; fails the test when it is no JSON
};

struct Call {
    std::vector<std::string> arguments;
    std::map<std::string, std::string> environment;  // beside the present one, DISPLAY left out
    // Sends SIGINT once standard error shows this text.
    std::string interruptAfter;
    // Standard output goes to this file instead of Outcome::out.
    std::string outputTo;
};

// Kills the program, and fails the test, after two minutes.
Outcome macle(const Call& run);
inline Outcome macle(std::vector<std::string> arguments) {
    return macle(Call{std::move(arguments), {}, {}, {}});
}

// A folder of its own for one test, removed at its end.
class Folder {
  public:
    Folder();
    ~Folder();
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    std::string operator/(const std::string& name) const { return (path_ / name).string(); }

  private:
    std::filesystem::path path_;
};

// Files made by the library under test's own generators, once per program.
std::string octahedronFile(const Folder& folder, double edge_mm, int refinement = 2);

}  // namespace macle::test
