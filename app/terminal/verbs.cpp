#include "app/terminal/verbs.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

namespace macle::app {

namespace {

constexpr std::array<std::pair<std::string_view, Verb (*)()>, 11> kMakers{
    {{"weigh", weighVerb},
     {"shape", shapeVerb},
     {"fit", fitVerb},
     {"finish", finishVerb},
     {"divide", divideVerb},
     {"appraise", appraiseVerb},
     {"compare", compareVerb},
     {"picture", pictureVerb},
     {"sheet", sheetVerb},
     {"marks", marksVerb},
     {"demo", demoVerb}}};

}  // namespace

const std::vector<Verb>& verbs() {
    static const std::vector<Verb> kVerbs = [] {
        std::vector<Verb> made;
        for (const auto& [name, make] : kMakers)
            made.push_back(make());
        return made;
    }();
    return kVerbs;
}

const Verb* findVerb(const std::string& name) {
    for (const Verb& verb : verbs())
        if (verb.name == name) return &verb;
    return nullptr;
}

bool isVerb(const std::string& name) {
    return std::any_of(kMakers.begin(), kMakers.end(),
                       [&](const auto& maker) { return maker.first == name; });
}

}  // namespace macle::app
