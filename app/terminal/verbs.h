// The verbs of the command line: one entry and one source file each.
#pragma once

#include <string>
#include <vector>

#include "app/terminal/arguments.h"
#include "app/terminal/console.h"

namespace macle::app {

struct Verb {
    std::string name;
    std::string input;    // "STONE", "CUT" or empty
    std::string summary;  // one line
    std::string example;
    std::vector<OptionSpec> options;
    void (*run)(const Arguments&, Console&);
};

// Their options follow from the library of cuts at the first call.
const std::vector<Verb>& verbs();
const Verb* findVerb(const std::string& name);
// Asks for no library.
bool isVerb(const std::string& name);

Verb weighVerb();
Verb shapeVerb();
Verb fitVerb();
Verb finishVerb();
Verb divideVerb();
Verb appraiseVerb();
Verb compareVerb();
Verb pictureVerb();
Verb sheetVerb();
Verb marksVerb();
Verb demoVerb();

}  // namespace macle::app
