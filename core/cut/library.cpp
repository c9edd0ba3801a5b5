#include "core/cut/library.h"

#include <algorithm>
#include <deque>
#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>
#include <shared_mutex>
#include <utility>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/cut/construction.h"
#include "core/cut/cut_recipe.h"
#include "core/cut/embedded_cuts.h"
#include "core/cut/facet_edit_json.h"

namespace macle {

namespace fs = std::filesystem;

namespace {

std::string joined(const std::vector<std::string>& words) {
    std::string text;
    for (const std::string& word : words)
        text += (text.empty() ? "" : ", ") + word;
    return text;
}

void checkRange(const ProportionInfo& info, double value) {
    // Written so that a value that is not a number fails too.
    if (value >= info.low && value <= info.high) return;
    throw Error(ErrorCode::BadUsage,
                info.label + " (" + info.key + ") is " + formatExact(value) + " " + info.unit +
                    ", outside " + formatExact(info.low) + " to " + formatExact(info.high) + " " +
                    info.unit + ".",
                "Give a value in that range; " + formatExact(info.standard) + " " + info.unit +
                    " is the standard.");
}

// One cut with the cut it is based on, if any.
struct Entry {
    CutRecipe recipe;
    const Entry* base = nullptr;
    bool own = false;  // of the program
};

Design designOf(const Entry& entry, const std::map<std::string, double>& complete) {
    if (entry.base == nullptr) return construct(entry.recipe, complete);
    Design design = edited(designOf(*entry.base, complete), entry.recipe.edits);
    design.cut = entry.recipe.info.name;
    return design;
}

class Library {
  public:
    static Library& instance() {
        static Library library;
        return library;
    }

    std::vector<CutInfo> infos() const {
        const std::shared_lock lock(mutex_);
        std::vector<CutInfo> result;
        for (const Entry* entry : shown_)
            result.push_back(entry->recipe.info);
        return result;
    }

    const Entry* find(const std::string& name) const {
        const std::shared_lock lock(mutex_);
        return found(name);
    }

    // All or nothing.
    std::vector<std::string> add(std::vector<CutRecipe> recipes, bool own) {
        const std::unique_lock lock(mutex_);
        const std::vector<const Entry*> before = shown_;
        std::vector<std::string> names;
        try {
            while (!recipes.empty()) {
                const auto next =
                    std::find_if(recipes.begin(), recipes.end(), [&](const CutRecipe& r) {
                        return r.basedOn.empty() || found(r.basedOn) != nullptr;
                    });
                if (next == recipes.end())
                    throw Error(ErrorCode::BadInput,
                                recipes.front().file + ": there is no cut \"" +
                                    recipes.front().basedOn + "\" to base it on.",
                                "Add that cut first.");
                names.push_back(next->info.name);
                addOne(std::move(*next), own);
                recipes.erase(next);
            }
        } catch (...) {
            shown_ = before;
            throw;
        }
        return names;
    }

  private:
    Library() {
        std::vector<CutRecipe> recipes;
        for (const auto& [file, text] : embeddedCuts())
            recipes.push_back(parseCutRecipe(text, file));
        add(std::move(recipes), true);
    }

    const Entry* found(const std::string& name) const {
        for (const Entry* entry : shown_)
            if (entry->recipe.info.name == name) return entry;
        return nullptr;
    }

    void addOne(CutRecipe recipe, bool own) {
        const Entry* old = found(recipe.info.name);
        if (old != nullptr && old->own)
            throw Error(ErrorCode::BadInput,
                        recipe.file + ": the name \"" + recipe.info.name +
                            "\" belongs to a cut of the program.",
                        "Give the cut a name of its own.");
        Entry entry{std::move(recipe), nullptr, own};
        if (!entry.recipe.basedOn.empty()) {
            entry.base = found(entry.recipe.basedOn);
            takeProportions(entry);
        }
        try {  // every fault of a rule shows now, not when the cut is chosen
            designOf(entry, completeProportions(entry.recipe.info, {}));
        } catch (const Error& error) {
            const bool named = error.message().starts_with(entry.recipe.file);
            throw Error(ErrorCode::BadInput,
                        (named ? "" : entry.recipe.file + ": with its standard proportions: ") +
                            error.message(),
                        error.remedy());
        }
        entry.recipe.info.file = entry.recipe.file;
        entries_.push_back(std::move(entry));
        if (old == nullptr)
            shown_.push_back(&entries_.back());
        else
            *std::find(shown_.begin(), shown_.end(), old) = &entries_.back();
    }

    static void takeProportions(Entry& entry) {
        CutInfo& info = entry.recipe.info;
        info.proportions = entry.base->recipe.info.proportions;
        if (info.note.empty()) info.note = entry.base->recipe.info.note;
        for (const auto& [key, value] : entry.recipe.standards) {
            const auto known = std::find_if(
                info.proportions.begin(), info.proportions.end(),
                [&, wanted = key](const ProportionInfo& p) { return p.key == wanted; });
            if (known == info.proportions.end() || !(value >= known->low && value <= known->high))
                throw Error(ErrorCode::BadInput,
                            entry.recipe.file + ": the standard " + formatExact(value) + " for \"" +
                                key + "\" does not suit the cut \"" + entry.recipe.basedOn + "\".",
                            "Correct its name or value.");
            known->standard = value;
        }
    }

    mutable std::shared_mutex mutex_;
    std::deque<Entry> entries_;  // never moved, never removed: others hold references
    std::vector<const Entry*> shown_;
};

const Entry& findEntry(const std::string& name) {
    if (const Entry* entry = Library::instance().find(name)) return *entry;
    std::vector<std::string> names;
    for (const CutInfo& cut : cutLibrary())
        names.push_back(cut.name);
    throw Error(ErrorCode::NotFound, "There is no cut named \"" + name + "\".",
                "The cuts are: " + joined(names) + ".");
}

}  // namespace

std::vector<CutInfo> cutLibrary() {
    return Library::instance().infos();
}

const CutInfo& findCut(const std::string& name) {
    return findEntry(name).recipe.info;
}

std::vector<std::string> addCuts(const fs::path& fileOrFolder) {
    std::vector<fs::path> files;
    std::error_code code;
    if (fs::is_directory(fileOrFolder, code)) {
        for (const auto& item : fs::directory_iterator(fileOrFolder, code))
            if (item.path().extension() == ".json") files.push_back(item.path());
        if (code)
            throw Error(ErrorCode::Io,
                        "The folder " + fileOrFolder.string() + " could not be read.",
                        "Check its permissions.");
        std::sort(files.begin(), files.end());
    } else {
        files.push_back(fileOrFolder);
    }
    std::vector<CutRecipe> recipes;
    for (const fs::path& file : files)
        recipes.push_back(readCutRecipe(file.string()));
    return Library::instance().add(std::move(recipes), false);
}

std::string addCut(CutRecipe recipe) {
    std::vector<CutRecipe> one;
    one.push_back(std::move(recipe));
    return Library::instance().add(std::move(one), false).front();
}

std::vector<std::string> cutFiles(const std::string& name) {
    std::vector<std::string> files;
    for (const Entry* entry = Library::instance().find(name); entry != nullptr && !entry->own;
         entry = entry->base)
        files.insert(files.begin(), entry->recipe.text);
    return files;
}

std::vector<std::string> learnCuts(const std::vector<std::string>& files,
                                   const std::string& source) {
    std::vector<std::string> replaced;
    std::vector<CutRecipe> fresh;
    for (const std::string& text : files) {
        CutRecipe recipe = parseCutRecipe(text, source);
        const Entry* known = Library::instance().find(recipe.info.name);
        if (known != nullptr && known->recipe.text == text) continue;
        if (known != nullptr) replaced.push_back(recipe.info.name);
        fresh.push_back(std::move(recipe));
    }
    if (!fresh.empty()) Library::instance().add(std::move(fresh), false);
    return replaced;
}

std::map<std::string, double> completeProportions(const CutInfo& cut,
                                                  const std::map<std::string, double>& given) {
    std::map<std::string, double> complete;
    std::vector<std::string> keys;
    for (const ProportionInfo& info : cut.proportions) {
        complete[info.key] = info.standard;
        keys.push_back(info.key);
    }
    for (const auto& [key, value] : given) {
        const auto place = complete.find(key);
        if (place == complete.end())
            throw Error(ErrorCode::BadUsage,
                        "The cut \"" + cut.name + "\" has no proportion \"" + key +
                            "\" (given as " + formatExact(value) + ").",
                        "Its proportions are: " + joined(keys) + ".");
        place->second = value;
    }
    for (const ProportionInfo& info : cut.proportions)
        checkRange(info, complete.at(info.key));
    return complete;
}

Design makeDesign(const std::string& cut, const std::map<std::string, double>& proportions) {
    const Entry& entry = findEntry(cut);
    Design design = designOf(entry, completeProportions(entry.recipe.info, proportions));
    design.changes.clear();  // those that make the cut what it is are not changes of it
    return design;
}

Design makeDesign(const std::string& cut, const std::map<std::string, double>& proportions,
                  const std::vector<FacetEdit>& edits) {
    return edited(makeDesign(cut, proportions), edits);
}

std::vector<FacetEdit> parseFacetEdits(const std::string& json, const std::string& file) {
    const auto list = nlohmann::ordered_json::parse(json, nullptr, false);
    if (!list.is_array())
        throw Error(ErrorCode::BadInput, file + ": it is not a JSON list of edits.",
                    "Write it like [{\"tilt\": \"star\", \"row\": true, \"tilt_deg\": 0.5}].");
    std::vector<FacetEdit> edits;
    for (const auto& item : list) {
        try {
            edits.push_back(facetEditFrom(item));
        } catch (const Error& error) {
            throw Error(
                error.code(),
                file + ", edit " + std::to_string(edits.size() + 1) + ": " + error.message(),
                error.remedy());
        }
    }
    return edits;
}

std::string editedCutFile(const std::string& base, const std::string& name,
                          const std::string& title,
                          const std::map<std::string, double>& proportions,
                          const std::vector<FacetEdit>& edits) {
    if (name == base)
        throw Error(ErrorCode::BadUsage, "A cut cannot be based on itself.",
                    "Give the changed cut a name of its own.");
    const std::map<std::string, double> complete = completeProportions(findCut(base), proportions);
    (void)edited(makeDesign(base, complete), edits);
    nlohmann::ordered_json file;
    file["cut"] = name;
    file["title"] = title;
    file["based_on"] = base;
    file["standards"] = complete;
    file["edits"] = nlohmann::ordered_json::array();
    for (const FacetEdit& edit : edits)
        file["edits"].push_back(facetEditJson(edit));
    std::string text = file.dump(2) + "\n";
    try {
        (void)parseCutRecipe(text, "The new cut");
    } catch (const Error& error) {
        throw Error(ErrorCode::BadUsage, error.message(), "Give it another name or title.");
    }
    if (const Entry* taken = Library::instance().find(name); taken != nullptr && taken->own)
        throw Error(ErrorCode::BadUsage,
                    "The name \"" + name + "\" belongs to a cut of the program.",
                    "Give the cut a name of its own.");
    return text;
}

}  // namespace macle
