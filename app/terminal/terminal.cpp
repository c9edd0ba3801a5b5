#include "app/terminal/terminal.h"

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <iostream>
#include <new>
#include <string>
#include <vector>

#include "app/terminal/arguments.h"
#include "app/terminal/console.h"
#include "app/terminal/output.h"
#include "app/terminal/verbs.h"
#include "core/base/error.h"
#include "core/cut/library.h"

namespace macle::app {

namespace {

constexpr int kDone = 0;
constexpr int kFailed = 1;
constexpr int kBadUsage = 2;

std::string optionTable(const std::vector<OptionSpec>& options) {
    std::vector<std::pair<std::string, std::string>> rows;
    for (const OptionSpec& option : options)
        rows.emplace_back("  --" + option.name + (option.value.empty() ? "" : " " + option.value),
                          option.help);
    return fields(rows);
}

std::string verbHelp(const Verb& verb) {
    std::string text = "macle " + verb.name + (verb.input.empty() ? "" : " " + verb.input) +
                       " [options]\n" + verb.summary + "\n\nOptions:\n";
    std::vector<OptionSpec> all = verb.options;
    all.insert(all.end(), commonOptions().begin(), commonOptions().end());
    return text + optionTable(all) + "\nExample:\n  " + verb.example + "\n";
}

std::string generalHelp() {
    std::vector<std::pair<std::string, std::string>> rows;
    for (const Verb& verb : verbs())
        rows.emplace_back("  " + verb.name + (verb.input.empty() ? "" : " " + verb.input),
                          verb.summary);
    return "Macle plans how a rough diamond is cut.\n\n"
           "  macle [FILE]            open the window\n"
           "  macle VERB [options]    do one job on the command line, with no display\n"
           "  macle VERB --help       what a verb takes\n"
           "  macle --version         which Macle this is\n\nVerbs:\n" +
           fields(rows) +
           "\nA STONE is a stone file (.macle) or a mesh in mm (.stl, .ply, .obj). A CUT is a name "
           "from\n`macle shape --list`. With --json one JSON object goes to standard output; "
           "messages go to\nstandard error. Exit status: 0 done, 1 the job failed, 2 the command "
           "was not understood.\n";
}

[[noreturn]] void unknownVerb(const std::string& word) {
    std::vector<std::string> names = {"help"};
    for (const Verb& verb : verbs())
        names.push_back(verb.name);
    const bool looksLikeFile = word.find_first_of("./\\") != std::string::npos;
    if (looksLikeFile && word.front() != '-')
        throw Error(ErrorCode::BadUsage, "There is no file \"" + word + "\", and no such verb.",
                    "Check the name; `macle help` lists the verbs.");
    const std::size_t letters = word.find_first_not_of('-');
    const auto near =
        nearestWord(letters == std::string::npos ? word : word.substr(letters), names);
    throw Error(ErrorCode::BadUsage, "\"" + word + "\" is not a verb of Macle.",
                near ? "Did you mean `macle " + *near + "`? `macle help` lists the verbs."
                     : "`macle help` lists the verbs.");
}

// Cuts of the works: the file or folder of $MACLE_CUTS and of each --cuts. Before anything asks for
// the library, because options and help follow from it.
void takeCuts(int argc, char** argv) {
    if (const char* given = std::getenv("MACLE_CUTS"); given != nullptr && *given != '\0')
        addCuts(given);
    for (int k = 1; k < argc; ++k) {
        const std::string word = argv[k];
        if (word == "--") break;
        if (word == "--cuts" && k + 1 < argc) addCuts(argv[++k]);
        if (word.starts_with("--cuts=")) addCuts(word.substr(word.find('=') + 1));
    }
}

void runRequest(const std::vector<std::string>& words) {
    if (words.empty() || words[0] == "--help" || words[0] == "-h" ||
        (words[0] == "help" && words.size() == 1)) {
        print(generalHelp());
        return;
    }
    if (words[0] == "--version") {
        print(std::string("macle ") + MACLE_VERSION + "\n");
        return;
    }
    const bool help = words[0] == "help";
    const std::string& name = help ? words[1] : words[0];
    const Verb* verb = findVerb(name);
    if (verb == nullptr) unknownVerb(name);
    if (help) {
        print(verbHelp(*verb));
        return;
    }
    const Arguments arguments(verb->name, {words.begin() + 1, words.end()}, verb->options);
    if (arguments.has("help")) {
        print(verbHelp(*verb));
        return;
    }
    Console console(arguments.has("progress"));
    verb->run(arguments, console);
}

int tell(const std::string& message, const std::string& remedy, int status) {
    std::cerr << "macle: " << message << (remedy.empty() ? "" : " ") << remedy << std::endl;
    return status;
}

}  // namespace

bool isTerminalRequest(int argc, char** argv) {
    if (argc < 2) return false;
    const std::string first = argv[1];
    if (first.empty() || first.front() == '-' || first == "help" || isVerb(first)) return true;
    std::error_code ignored;
    return !std::filesystem::exists(first, ignored);
}

int runTerminal(int argc, char** argv) {
    try {
        takeCuts(argc, argv);
        runRequest({argv + 1, argv + argc});
        return kDone;
    } catch (const Error& error) {
        return tell(error.message(), error.remedy(),
                    error.code() == ErrorCode::BadUsage ? kBadUsage : kFailed);
    } catch (const std::bad_alloc&) {
        return tell("There is not enough memory for this job.",
                    "Close other programs or take a coarser scan.", kFailed);
    } catch (const std::exception& error) {
        return tell(std::string("Something failed that should not: ") + error.what() + ".",
                    "The result was withheld.", kFailed);
    }
}

}  // namespace macle::app
