#include "tests/app/terminal/process.h"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>

#include "core/stone/mesh_file.h"
#include "core/stone/sample.h"

extern char** environ;

namespace macle::test {

namespace {

std::vector<std::string> environmentFor(const Call& run) {
    std::vector<std::string> words;
    for (char** entry = environ; *entry != nullptr; ++entry) {
        const std::string word = *entry;
        const std::string name = word.substr(0, word.find('='));
        if (name == "DISPLAY" || name == "WAYLAND_DISPLAY" || run.environment.contains(name))
            continue;
        words.push_back(word);
    }
    for (const auto& [name, value] : run.environment)
        words.push_back(name + "=" + value);
    return words;
}

std::vector<char*> pointers(std::vector<std::string>& words) {
    std::vector<char*> list;
    for (std::string& word : words)
        list.push_back(word.data());
    list.push_back(nullptr);
    return list;
}

}  // namespace

Outcome macle(const Call& run) {
    using Clock = std::chrono::steady_clock;
    std::array<int, 2> out{}, err{};
    EXPECT_EQ(pipe2(out.data(), O_CLOEXEC), 0);
    EXPECT_EQ(pipe2(err.data(), O_CLOEXEC), 0);
    std::vector<std::string> words = {MACLE_PROGRAM};
    words.insert(words.end(), run.arguments.begin(), run.arguments.end());
    std::vector<std::string> environment = environmentFor(run);
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    if (run.outputTo.empty())
        posix_spawn_file_actions_adddup2(&actions, out[1], STDOUT_FILENO);
    else
        posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, run.outputTo.c_str(), O_WRONLY,
                                         0);
    posix_spawn_file_actions_adddup2(&actions, err[1], STDERR_FILENO);
    pid_t child = 0;
    const int started = posix_spawn(&child, MACLE_PROGRAM, &actions, nullptr,
                                    pointers(words).data(), pointers(environment).data());
    posix_spawn_file_actions_destroy(&actions);
    close(out[1]);
    close(err[1]);
    Outcome outcome;
    if (started != 0) {
        ADD_FAILURE() << "cannot start " << MACLE_PROGRAM;
        close(out[0]);
        close(err[0]);
        return outcome;
    }

    const auto deadline = Clock::now() + std::chrono::minutes(2);
    Clock::time_point signalled;
    bool sent = false, killed = false;
    std::array<pollfd, 2> files = {pollfd{out[0], POLLIN, 0}, pollfd{err[0], POLLIN, 0}};
    while (files[0].fd >= 0 || files[1].fd >= 0) {
        poll(files.data(), files.size(), 100);
        for (std::size_t k = 0; k < 2; ++k) {
            if (files[k].fd < 0 || files[k].revents == 0) continue;
            std::array<char, 65536> buffer{};
            const ssize_t got = read(files[k].fd, buffer.data(), buffer.size());
            if (got <= 0) {
                close(files[k].fd);
                files[k].fd = -1;
            } else {
                (k == 0 ? outcome.out : outcome.error).append(buffer.data(), std::size_t(got));
            }
        }
        if (!run.interruptAfter.empty() && !sent &&
            outcome.error.find(run.interruptAfter) != std::string::npos) {
            kill(child, SIGINT);
            signalled = Clock::now();
            sent = true;
        }
        if (!killed && Clock::now() > deadline) {
            kill(child, SIGKILL);
            killed = true;
            ADD_FAILURE() << "the program did not end";
        }
    }
    int status = 0;
    waitpid(child, &status, 0);
    if (sent) outcome.afterSignal = Clock::now() - signalled;
    outcome.status = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
    return outcome;
}

nlohmann::json Outcome::json() const {
    nlohmann::json value = nlohmann::json::parse(out, nullptr, false);
    EXPECT_FALSE(value.is_discarded()) << "not JSON:\n" << out << "\n" << error;
    return value;
}

Folder::Folder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "macle_test_XXXXXX").string();
    if (mkdtemp(pattern.data()) == nullptr) ADD_FAILURE() << "no temporary folder";
    path_ = pattern;
}

Folder::~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
}

std::string octahedronFile(const Folder& folder, double edge_mm, int refinement) {
    const std::string file = folder / "octahedron.ply";
    writeMeshFile(octahedronStone(edge_mm, refinement).rough.mesh, file);
    return file;
}

}  // namespace macle::test
