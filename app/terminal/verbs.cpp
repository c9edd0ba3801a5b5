#include "app/terminal/verbs.h"

namespace macle::app {

const std::vector<Verb>& verbs() {
    static const std::vector<Verb> kVerbs = {weighVerb(),   shapeVerb(), fitVerb(), finishVerb(),
                                             pictureVerb(), sheetVerb(), demoVerb()};
    return kVerbs;
}

const Verb* findVerb(const std::string& name) {
    for (const Verb& verb : verbs())
        if (verb.name == name) return &verb;
    return nullptr;
}

}  // namespace macle::app
