#include "tests/fuzz/targets.h"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <string>

#include "core/appraise/clarity.h"
#include "core/appraise/value.h"
#include "core/appraise/work_estimate.h"
#include "core/archive/draft.h"
#include "core/archive/history.h"
#include "core/archive/state_json.h"
#include "core/archive/stone_file.h"
#include "core/base/error.h"
#include "core/stone/intake.h"
#include "core/stone/sample.h"
#include "core/stone/volume_defects.h"
#include "core/stone/volume_source.h"

namespace macle::fuzz {

namespace {

[[noreturn]] void unsound(const char* what) {
    std::fprintf(stderr, "unsound: %s\n", what);
    std::abort();
}

void expect(bool holds, const char* what) {
    if (!holds) unsound(what);
}

std::string_view textOf(const std::uint8_t* data, std::size_t size) {
    return {reinterpret_cast<const char*>(data), size};
}

// Runs a reader; a refusal with words and a remedy is what foreign bytes may lead to.
template <class Read>
void mayRefuse(Read read) {
    try {
        read();
    } catch (const Error& error) {
        expect(error.code() != ErrorCode::Internal, error.what());
        expect(!error.message().empty() && !error.remedy().empty(), "a refusal without words");
    }
}

void surface(const char* name, const std::uint8_t* data, std::size_t size) {
    mayRefuse([&] {
        const TriangleMesh mesh = surface_file::readSurface({name, textOf(data, size), nullptr});
        expect(mesh.triangles.size() <= size, "more triangles than bytes");
        mayRefuse([&] { splitShells(mesh); });
        const Rough rough = takeIn(mesh);
        expect(rough.volume_mm3 > 0.0 && std::isfinite(rough.volume_mm3), "a rough of no volume");
        // What was taken in is taken in again as it is.
        const Rough again = takeIn(rough.mesh);
        expect(again.mesh.vertices == rough.mesh.vertices &&
                   again.mesh.triangles == rough.mesh.triangles,
               "an intake that is not settled");
    });
}

// A file in memory, for what reads by name.
std::filesystem::path fileOf(const std::uint8_t* data, std::size_t size) {
    static const std::filesystem::path kFile = [] {
        const char* folder = ::access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
        return std::filesystem::path(folder) /
               ("macle_fuzz_" + std::to_string(::getpid()) + ".macle");
    }();
    static const bool tidied = std::atexit([] { ::unlink(kFile.c_str()); }) == 0;
    static_cast<void>(tidied);
    const int fd = ::open(kFile.c_str(), O_CREAT | O_WRONLY | O_TRUNC | O_CLOEXEC, 0600);
    expect(fd >= 0 && ::write(fd, data, size) == static_cast<ssize_t>(size), "no room to write");
    ::close(fd);
    return kFile;
}

}  // namespace

void stl(const std::uint8_t* data, std::size_t size) {
    surface("x.stl", data, size);
}

void ply(const std::uint8_t* data, std::size_t size) {
    surface("x.ply", data, size);
}

void obj(const std::uint8_t* data, std::size_t size) {
    surface("x.obj", data, size);
}

// The first byte chooses the extension.
void volume(const std::uint8_t* data, std::size_t size) {
    static constexpr const char* kNames[] = {"x.mha", "x.nrrd",      "x.vtk",
                                             "x.vti", "/none/x.mhd", "/none/x.nhdr"};
    if (size == 0) return;
    mayRefuse([&] {
        const Volume read =
            volume_file::readBytes({kNames[data[0] % 6], textOf(data + 1, size - 1), nullptr});
        expect(read.values.size() == read.count(), "a volume with missing voxels");
        if (read.count() > 20'000) return;
        const Histogram histogram = histogramOf(read, 8);
        VolumeDefectOptions options;
        options.range = {0.5 * (static_cast<double>(histogram.low) + histogram.high),
                         static_cast<double>(histogram.high)};
        options.dropAtBorder = false;
        for (const double part : defectsFromVolume(read, options).volumes_mm3)
            expect(part > 0.0, "a part of no volume");
    });
}

// The first byte chooses what the text is taken for.
void json(const std::uint8_t* data, std::size_t size) {
    if (size == 0) return;
    const std::string text(textOf(data + 1, size - 1));
    switch (data[0] % 5) {
        case 0:
            mayRefuse([&] {
                for (const Defect& defect : defect_json::readList("x.json", text))
                    expect(defectVolume_mm3(defect) >= 0.0 && !defectSurface(defect).empty(),
                           "a defect without a surface");
            });
            break;
        case 1:
            mayRefuse([&] {
                const auto layouts = archive::readLayoutList("x.json", text);
                const std::string once = archive::layoutsJson(layouts).dump(
                    -1, ' ', false, archive::Json::error_handler_t::replace);
                const auto again = archive::layoutsFrom(archive::Json::parse(once), "again");
                expect(archive::layoutsJson(again).dump(
                           -1, ' ', false, archive::Json::error_handler_t::replace) == once,
                       "layouts that change by being stored");
            });
            break;
        case 2:
            mayRefuse([&] {
                Stone stone;
                SurfaceShelf shelf;
                archive::readStone(archive::parse(text, "text"), shelf, stone);
                archive::stoneJson(stone, shelf);
            });
            break;
        case 3:
            mayRefuse([&] {
                const Approval approval = readApproval(text, "");
                expect(!approval.intact, "an approval that cannot be intact");
            });
            break;
        default: {
            static const auto stone = std::make_shared<const Stone>(sampleStone(800));
            HistoryRecord record;
            record.steps.push_back(std::make_shared<const Step>(Step{"x", "", text, text}));
            record.done = 1;
            History history;
            history.reset(stone, {Layout{}}, record);
            mayRefuse([&] { history.undo(); });
            mayRefuse([&] { history.redo(); });
            history.record("go on", 0, stone, {Layout{}});
            break;
        }
    }
}

void stone_file(const std::uint8_t* data, std::size_t size) {
    const std::filesystem::path file = fileOf(data, size);
    mayRefuse([&] {
        StoneFile content = openStoneFile(file);
        expect(content.stone.rough.volume_mm3 > 0.0, "a rough of no volume");
        for (const Layout& layout : content.layouts)
            layoutState(content.stone, layout, content.approvals);
        History history;
        history.reset(std::make_shared<const Stone>(content.stone), content.layouts,
                      content.history);
        mayRefuse([&] {
            while (history.done() > 0)
                history.undo();
        });
    });
    // As a draft it is opened for writing.
    mayRefuse([&] { openDraft(file); });
}

// The first byte says which of the files the appraisal reads.
void appraisal(const std::uint8_t* data, std::size_t size) {
    if (size == 0) return;
    const std::string text(textOf(data + 1, size - 1));
    mayRefuse([&] {
        switch (data[0] % 3) {
            case 0: {
                const PriceTable table = parsePrices(text, "x.csv");
                ValueQuery query;
                query.cut = "round";
                query.colour = "G";
                query.clarity = "VS1";
                for (const double weight_ct : {0.2, 1.0, 1.4999}) {
                    query.weight_ct = weight_ct;
                    const ValueFigure figure = valueOf(table, query);
                    expect(figure.value.has_value() == figure.missing.empty(),
                           "a value that is missing without a word, or both");
                    expect(!figure.value || (std::isfinite(*figure.value) && *figure.value > 0.0),
                           "a value that is none");
                    expect(valueAlone(table, query) == figure.value, "two values of one stone");
                }
                break;
            }
            case 1: {
                WorkStages stages;
                stages.rough_ct = 2.0;
                stages.belowTable_ct = stages.bruted_ct = stages.blocked_ct = 1.5;
                stages.finished_ct = 1.0;
                stages.girdle_mm = 20.0;
                const WorkEstimate work = estimateWork(stages, parseShopRates(text, "x.json"));
                expect(std::isfinite(work.minutes) && work.minutes >= 0.0 &&
                           std::isfinite(work.cost) && std::isfinite(work.days),
                       "a time or cost that is none");
                break;
            }
            default: {
                SeenDefect seen;
                seen.counts_um = 50.0;
                const ClarityFigure figure =
                    gradeClarity(parseClarityScale(text, "x.json"), {seen}, 1.0);
                expect(figure.grade >= 0 && figure.grade <= 9, "a grade that is none");
                break;
            }
        }
    });
}

}  // namespace macle::fuzz
