#!/bin/bash
# A farm on Slurm: as many tasks as the array has, each one core and one share of the fields.
#
#     sbatch --wait docs/jobs/slurm.sh farm.toml out && lowstave farm join out
#
# A task that failed is run again alone: sbatch --wait --array=3 docs/jobs/slurm.sh farm.toml out
# It keeps the fields that were done. The count of parts stands in LOWSTAVE_PARTS, because a task that is run again alone does not know how
# many there were. Slurm does not run a killed task again by itself.
#SBATCH --job-name=lowstave
#SBATCH --array=1-4
#SBATCH --cpus-per-task=1
#SBATCH --mem=1000
#SBATCH --open-mode=append
export LOWSTAVE_PARTS=4
lowstave farm "$1" --out "$2" --threads 1 --quiet --part auto
code=$?
# 1 says that somebody should look at a remark: for the array that is done.
if [ $code -eq 1 ]; then exit 0; fi
exit $code
